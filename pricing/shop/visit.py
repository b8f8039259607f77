"""What the owner said at the first visit: ``first_visit.csv`` in the shop's folder, one row a question.

Takes    question and what was said, as it was typed; `NOT_KNOWN` where the guess stays.
"""

from collections.abc import Mapping
from pathlib import Path

from pricing.basis.errors import BadInput, Problem
from pricing.basis.files import read_table, table_text

_FILE = "first_visit.csv"
NOT_KNOWN = "not known"
"""What stands for "I don't know"."""
SOLD = "sold"
"""The question what the shop sells; its answer is the keys of the items, parted by spaces."""
JOB = "job "
"""How the rows of remembered jobs begin."""
_COLUMNS = ("question", "said")
_UNKNOWN = frozenset({"?", "i don't know", "don't know", "i do not know", "no idea", "not known", "unknown"})


def is_unknown(given: str) -> bool:
    """Tell whether what was typed means "I don't know".

    Parameters
    ----------
    given : str
        Into a field or at a prompt.
    """
    plain = given.strip().lower().replace("’", "'").rstrip(".!")
    return plain in _UNKNOWN or plain.replace("dont", "don't") in _UNKNOWN


def read_answers(folder: Path) -> dict[str, str]:
    """Read what was said; empty where nobody was asked yet.

    Parameters
    ----------
    folder : Path
        The shop's folder.

    Raises
    ------
    BadInput
        A question stands twice, or the table cannot be read.
    """
    path = folder / _FILE
    if not path.exists():
        return {}
    found: dict[str, str] = {}
    bad = []
    for row in read_table(path, _COLUMNS):
        if row["question"] in found:
            bad.append(Problem(f"line {row['#']}: question", row["question"], "there once", "Keep the later row."))
        found[row["question"]] = row["said"]
    if bad:
        raise BadInput(str(path), bad)
    return found


def answers_text(answers: Mapping[str, str]) -> str:
    """Write what was said.

    Parameters
    ----------
    answers : mapping of str
        By question.
    """
    return table_text(_COLUMNS, [{"question": key, "said": said} for key, said in answers.items()])


def is_sold(answers: Mapping[str, str], item: str) -> bool:
    """Tell whether the shop sells an item; where nobody was asked, it sells all.

    Parameters
    ----------
    answers : mapping of str
        By question.
    item : str
        Its key.
    """
    return SOLD not in answers or item in answers[SOLD].split()
