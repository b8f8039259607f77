"""What the model's functions take and give beside plain numbers: arrays of float64."""

from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
AnyArray = npt.NDArray[Any]  # pictures, and what may hold the tracer's symbols
