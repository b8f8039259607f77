"""Which steps a job goes through, in which order: decided by its parts and its finish."""

from collections.abc import Iterator, Sequence

from pricing.basis.checks import is_symbol
from pricing.basis.identity import Same
from pricing.parts.work import Work
from pricing.shop.finishes import Finish
from pricing.shop.powders import Powder
from pricing.shop.shop import Book, Shop
from pricing.steps.bake import COOL, FULL_CURE, OUTGAS, PARTIAL_CURE
from pricing.steps.blast import BLAST, DRESS, PRETREAT, REBLAST, SAND_EDGES
from pricing.steps.coat import BLOW_OFF, COAT, COLOUR_CHANGE
from pricing.steps.finishing import HAND_OVER, INSPECT, PACK, REASSEMBLE, UNMASK
from pricing.steps.hang import HANG, PLUG, TEST_PANEL
from pricing.steps.intake import DEGREASE, DISASSEMBLE, ENQUIRY, INTAKE
from pricing.steps.step import Setting, Step, Use, equations_of, use_of
from pricing.steps.strip import STRIP_BLAST, STRIP_BOUGHT_IN, STRIP_BURN_OFF, STRIP_CHEMICAL
from pricing.steps.wipe_or_tape import TAPE, WIPE

_BEFORE = (ENQUIRY, INTAKE, DISASSEMBLE)
_METAL = (DEGREASE, STRIP_CHEMICAL, STRIP_BLAST, STRIP_BURN_OFF, STRIP_BOUGHT_IN)
_BARE = (DRESS, BLAST, OUTGAS, REBLAST, SAND_EDGES)
_AFTER = (REASSEMBLE, PACK, HAND_OVER)
STEPS: Sequence[Step] = (
    *(*_BEFORE, *_METAL, *_BARE, PRETREAT, PLUG, TEST_PANEL, HANG),
    *(COLOUR_CHANGE, TAPE, COAT, WIPE, BLOW_OFF, PARTIAL_CURE, FULL_CURE),
    *(COOL, INSPECT, UNMASK, *_AFTER),
)
"""Every step there is, in the order of the work."""

Visit = tuple[Step, int]
"""A step and the number of the coat it belongs to, from 1; before and after the coats it is 0."""

AFTER_CLAIM: Sequence[Visit] = ((INTAKE, 0), (PACK, 0), (HAND_OVER, 0))
"""Steps that a claim under warranty takes beside the redo."""


def route(work: Work, finish: Finish) -> list[Visit]:
    """Collect the steps of a job in order.

    Parameters
    ----------
    work : Work
        Amounts; a step that has nothing to do in any row is left out.
    finish : Finish
        Coats in order, and how the line is made.

    Returns
    -------
    list of (Step, int)
        Steps with the number of their coat.
    """
    visits = [(step, 0) for step in (*_BEFORE, *_METAL, *_BARE, PRETREAT, PLUG, TEST_PANEL, HANG)]
    visits += _coats(finish)
    visits += [(step, 0) for step in (COOL, INSPECT, UNMASK, *_AFTER)]
    return [visit for visit in visits if _has_work(visit[0], work, finish)]


def oven_route(work: Work, finish: Finish, *, redo: bool = False) -> list[Visit]:
    """Collect the steps of a route, or of its redo, that an oven takes part in.

    Parameters
    ----------
    work : Work
        Amounts; without anything to bake out there is no outgas bake.
    finish : Finish
        For its cures.
    redo : bool
        Gas is baked out of a part but once.
    """
    cures = {"partial": PARTIAL_CURE, "full": FULL_CURE}
    visits = [(cures[coat.cure], number) for number, coat in enumerate(finish.coats, 1) if coat.cure in cures]
    first = [] if redo or not _any(work.baked_parts) else [(OUTGAS, 0)]
    return [*first, *visits, (COOL, 0)]


def redo_route(work: Work, finish: Finish) -> list[Visit]:
    """Collect the steps of a reject found after cure: stripped, then everything after, hung again."""
    visits = [(step, 0) for step in (*_METAL, *_BARE, PRETREAT, PLUG, HANG)]
    visits += [*_coats(finish), (COOL, 0), (INSPECT, 0), (UNMASK, 0)]
    no_gas_left = {OUTGAS, REBLAST, DEGREASE}
    return [v for v in visits if v[0] not in no_gas_left and _has_work(v[0], work, finish)]


def respray_route(finish: Finish) -> list[Visit]:
    """Collect the steps of a line spoiled before cure: blown off, sprayed and wiped again."""
    return [(step, number) for number in finish.lines("wiped") for step in (BLOW_OFF, COAT, WIPE)]


def uses_of(
    visits: Sequence[Visit], work: Work, shop: Shop, finish: Finish, powders: Sequence[Powder], book: Book
) -> Iterator[Use]:
    """Run the steps of a route on amounts, one after the other."""
    rows = equations_of(Same(shop.rates))
    for step, number in visits:
        coat = finish.coats[max(number, 1) - 1]
        setting = Setting(shop, book, finish, coat, number, powders[coat.powder - 1])
        yield use_of(step, work, setting, rows.get(step.key, ()))


def _coats(finish: Finish) -> Iterator[Visit]:
    loaded = 0
    for number, coat in enumerate(finish.coats, 1):
        if coat.powder != loaded:
            yield COLOUR_CHANGE, number
            loaded = coat.powder
        if coat.line == "masked":
            yield TAPE, number
        yield COAT, number
        if coat.line == "wiped":
            yield WIPE, number
        if coat.cure == "partial":
            yield PARTIAL_CURE, number
        elif coat.cure == "full":
            yield FULL_CURE, number


def _has_work(step: Step, work: Work, finish: Finish) -> bool:
    match step.key:
        case "enquiry":
            return work.asked > 0
        case "disassemble" | "reassemble":
            return _any(work.apart)
        case "outgas" | "reblast":
            return _any(work.baked_parts)
        case "blast":
            return _any(work.blast_parts)
        case "dress":
            return _any(work.repaired)
        case "sand_edges":
            return any(_any(metres) for metres in work.edge_m.values())
        case "plug":
            return _any(work.plugs)
        case "unmask":
            return _any(work.plugs) or bool(finish.lines("masked"))
        case "test_panel":
            return finish.colours > 1 and _any(work.panels)  # one powder by itself is no pair
        case key if key.startswith("strip_"):
            return _any(work.strip_parts.get(key.removeprefix("strip_"), 0.0))
        case _:
            return True


def _any(amount: object) -> bool:
    if is_symbol(amount):
        return True
    return bool(amount > 0) if isinstance(amount, float) else bool((amount > 0).any())  # type: ignore[operator, attr-defined]
