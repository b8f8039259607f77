"""What the owner said at the first visit: ``first_visit.csv`` in the shop's folder, one row a question.

Takes    question and what was said, as it was typed; `NOT_KNOWN` where the guess stays.
"""

from collections.abc import Mapping
from pathlib import Path

from pricing.basis.errors import Problem, gathered
from pricing.basis.files import read_table, table_text

NOT_KNOWN = "not known"
"""What stands for "I don't know"."""
SOLD = "sold"
"""The question what the shop sells; its answer is the keys of the items, parted by spaces."""
JOB = "job "
"""How the rows of remembered jobs begin."""
_COLUMNS = ("question", "said")
_UNKNOWN = frozenset({"?", "i don't know", "don't know", "i do not know", "no idea", "not known", "unknown"})


def is_unknown(given: str) -> bool:
    """Tell whether what was typed into a field or at a prompt means "I don't know"."""
    plain = given.strip().lower().replace("’", "'").rstrip(".!")
    return plain in _UNKNOWN or plain.replace("dont", "don't") in _UNKNOWN


def read_answers(path: Path) -> dict[str, str]:
    """Read what was said by question; a question that stands twice is refused."""
    found: dict[str, str] = {}
    with gathered(path) as bad:
        for row in read_table(path, _COLUMNS):
            if row["question"] in found:
                bad.append(Problem(f"line {row['#']}: question", row["question"], "there once", "Keep the later row."))
            found[row["question"]] = row["said"]
    return found


def answers_text(answers: Mapping[str, str]) -> str:
    """Write what was said by question."""
    return table_text(_COLUMNS, [{"question": key, "said": said} for key, said in answers.items()])


def is_sold(answers: Mapping[str, str], item: str) -> bool:
    """Tell whether the shop sells an item, by its key; where nobody was asked, it sells all."""
    return SOLD not in answers or item in answers[SOLD].split()
