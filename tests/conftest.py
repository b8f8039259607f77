"""The demo shop, read once."""

from dataclasses import replace
from pathlib import Path

import pytest

from pricing.parts.items import Item, read_items
from pricing.parts.job import Job, Lot, read_job
from pricing.parts.part import Part
from pricing.shop.folder import new_folder, open_shop
from pricing.shop.shop import Shop

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="session")
def shop() -> Shop:
    return open_shop()


@pytest.fixture(scope="session")
def items(shop: Shop) -> dict[str, Item]:
    return read_items(shop)


@pytest.fixture(scope="session")
def letters(shop: Shop, items: dict[str, Item]) -> Job:
    return read_job(ROOT / "data" / "jobs" / "sign_letters.toml", shop, items)


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """An owner's folder to spoil."""
    return new_folder(tmp_path / "mine")


@pytest.fixture(scope="session")
def plate() -> Part:
    return Part(
        name="plate", material="mild steel", thickness_mm=3.0, mass_kg=2.0, area_m2=0.17, edge_m=2.8, line_m=1.4,
        spots=2, plugs=3, width_mm=300.0, height_mm=280.0, depth_mm=3.0, second_share=0.5, edge_quality="cut",
    )  # fmt: skip


@pytest.fixture(scope="session")
def plates(plate: Part) -> Job:
    return Job(
        title="plates", finish="two_tone_wiped", powders=("jet black", "signal white"),
        lots=(Lot(part=plate, quantity=8),),
    )  # fmt: skip


def with_part(job: Job, quantity: int | None = None, **changes: object) -> Job:
    """Give the job with its first lot changed."""
    lot = job.lots[0]
    part = lot.part.model_copy(update=changes)
    return job.model_copy(update={"lots": (Lot(part=part, quantity=quantity or lot.quantity),)})


def with_policy(shop: Shop, **changes: object) -> Shop:
    """Give the shop with its policy changed."""
    return replace(shop, policy=shop.policy.model_copy(update=changes))
