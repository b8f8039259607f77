"""A part's file of any kind: drawings go one way, meshes the other."""

from pathlib import Path

from pricing.basis.errors import BadInput, Problem
from pricing.parts.drawing import read_drawing
from pricing.parts.mesh import MESH_KINDS, read_mesh
from pricing.parts.reading import Choices, DrawingReading


def read_part_file(path: Path, thickness_mm: float | None = None, *, chosen: Choices | None = None) -> DrawingReading:
    """Read a drawing or a mesh.

    Parameters
    ----------
    path : Path
        DXF, or a mesh: STL, OBJ, PLY, 3MF.
    thickness_mm : float, optional
        Of the sheet; only a drawing needs it [mm].
    chosen : Choices, optional
        The owner's choices.

    Raises
    ------
    BadInput
        As `read_drawing` and `read_mesh`, or a drawing came without thickness.
    """
    if path.suffix.lower().removeprefix(".") in MESH_KINDS:
        return read_mesh(path, chosen=chosen)
    if thickness_mm is None:
        mend = "A drawing is flat; name the sheet's thickness, for example --thickness '3 mm'."
        raise BadInput(str(path), [Problem("thickness", "missing", "given with its unit", mend)])
    return read_drawing(path, thickness_mm, chosen=chosen)
