"""Where the owner's own numbers come from: ``sources.csv`` of the shop's folder, upon ``data/sources.csv``."""

from collections.abc import Mapping

from pricing.basis.facts import SOURCE_COLUMNS, FactKind, Source, sources
from pricing.basis.files import table_text
from pricing.basis.records import Name, Record
from pricing.shop.shop import Shop


class OwnSource(Record):
    """A source as a page shows it; rows name it by its key."""

    title: Name
    kind: FactKind
    publisher: str = ""
    year: str = ""
    where: str = ""

    @classmethod
    def of(cls, source: Source) -> "OwnSource":
        """Take one that stands in a table."""
        return cls(**{name: getattr(source, name) for name in cls.model_fields})

    def keyed(self, key: str) -> Source:
        """Return it as a row of a table."""
        return Source(key=key, **dict(self))


def own_sources_text(found: Mapping[str, Source]) -> str:
    """Write the table of a shop's own sources, out of all that it may name, by key."""
    own = [source for key, source in found.items() if sources().get(key) != source]
    return table_text(SOURCE_COLUMNS, [{name: getattr(one, name) for name in SOURCE_COLUMNS} for one in own])


def named_sources(shop: Shop) -> list[str]:
    """Collect the keys of the sources that a shop's numbers name, and of its own, which they may name."""
    used = {row.source.key for row in {**shop.rates, **shop.assumptions}.values()}
    used |= {powder.source for powder in shop.powders.values()}
    return sorted(used | {key for key, source in shop.sources.items() if sources().get(key) != source})
