"""Price policy: what the owner decides, as data."""

from typing import Annotated, Literal

from pydantic import Field, field_validator

from pricing.basis.records import Quantity, Rate, Record, Share, refuse

Money = Annotated[float, Quantity("money")]


class PricePoint(Record):
    """Up to which price the list is rounded up to which step."""

    up_to: Annotated[float, Quantity("money", above=0.0)]
    step: Annotated[float, Quantity("money", above=0.0)]


class Scarce(Record):
    """The resource that runs out first, and what one more hour of it would bring."""

    resource: str
    worth_per_h: Annotated[float, Quantity("money/h")]


class Trade(Record):
    """A second price list, for the trade: its own margin, smallest job and share of the set-up that is charged.

    Who sends work every week needs no enquiry, so that its list is laid without one. A share below 1 leaves the rest
    of a set-up to the year; rows then say from how many they fall under the margin.
    """

    target_margin: Annotated[Share, Field(lt=1)]
    minimum_charge: Money
    setup_charged: Share = 1.0


class Policy(Record):
    """How the shop turns cost into price.

    ``price_points`` are for the first of an order, ``each_points`` for each further one; ``list_up_to`` is the
    quantity that one further price holds for; ``further_kind`` is charged for each further kind of part in one
    order, where its own set-up is not less; without it each kind pays its whole set-up. Of the set-up of an order
    the share ``setup_charged`` is charged.
    """

    interest: Rate
    target_margin: Annotated[Share, Field(lt=1)]
    minimum_charge: Money
    price_points: Annotated[tuple[PricePoint, ...], Field(min_length=1)]
    each_points: Annotated[tuple[PricePoint, ...], Field(min_length=1)]
    list_up_to: Annotated[int, Quantity("whole", at_least=2, at_most=100)]
    further_kind: Annotated[float, Quantity("money")] | None = None
    rush_surcharge: Share
    deposit: Share
    sales_tax: Share
    prices_include_tax: bool
    valid_days: Annotated[int, Quantity("whole", at_least=1, at_most=365)]
    strip_by: Literal["chemical", "blast", "burn_off", "bought_in"]
    strip_aluminium_by: Literal["chemical", "blast", "bought_in"]
    most_heat_cycles: Annotated[int, Quantity("whole", at_least=1, at_most=20)]
    scarce: Scarce
    warranty_years: Annotated[float, Quantity("number", at_most=20)] = 0.0
    setup_charged: Share = 1.0
    trade: Trade | None = None

    @field_validator("target_margin")
    @classmethod
    def _below_one(cls, share: float) -> float:
        if share >= 1:
            raise refuse("a margin from 0 to below 1", "A margin is a share of the price; 100 % would mean no cost.")
        return share

    @field_validator("price_points", "each_points")
    @classmethod
    def _rising(cls, points: tuple[PricePoint, ...]) -> tuple[PricePoint, ...]:
        ends = [point.up_to for point in points]
        if ends != sorted(set(ends)):
            raise refuse("price points that rise", "Order them by up_to, lowest first.")
        return points
