"""What needs a program that is not on every machine is collected only where it is."""

import shutil

collect_ignore = [] if shutil.which("soffice") else ["test_recalculated.py"]
