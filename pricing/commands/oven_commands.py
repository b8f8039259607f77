"""Commands about the oven: what a job's visits take, how jobs share a load, and fitting the owner's oven."""

from typing import TYPE_CHECKING, Any

import click

from pricing.commands.shell import JSON, SHOP, echo_figures, picked, plain_errors, read_shop_and_job

if TYPE_CHECKING:
    from pricing.costing.limits import CoatHeat
    from pricing.costing.visits import OvenVisit
    from pricing.physics.packing_mixed import Loading
    from pricing.show.words import Words


@click.command("oven")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...")
@SHOP
@click.option("--finish", default=None, help="Another finish than the job's.")
@JSON
@plain_errors
def oven_command(jobs: tuple[str, ...], folder: str | None, finish: str | None, *, as_json: bool) -> None:
    """Oven visits of a JOB: loads, bring-up, dwell, where the heat goes; of several, how they share loads."""
    from pricing.commands.tables import grid, tell
    from pricing.costing.limits import coat_heats
    from pricing.costing.sheet import cost
    from pricing.costing.visits import oven_visits
    from pricing.show.oven_view import VISIT_HEAD, visit_cells
    from pricing.show.words import Words, counted

    told: list[dict[str, Any]] = []
    for name in jobs:
        shop, job = read_shop_and_job(folder, name)
        sheet = cost(shop, job, finish=finish)
        visits, heats = oven_visits(sheet), coat_heats(sheet.finish, sheet.powders, sheet.shop)
        if as_json:
            told.append({"title": job.title, **_figures(visits, heats)})
            continue
        words = Words(shop)
        table = grid(f"{job.title}: oven visits, times in minutes", VISIT_HEAD, visit_cells(words, visits), left=2)
        tell(table, *_sentences(visits, heats, words))
    loading = _share(jobs, folder) if len(jobs) > 1 else None
    if as_json:
        plan: dict[str, Any] = {}
        if loading:
            hung = [{"loads": n, "rows": [row._asdict() for row in rows]} for n, rows in loading.batches]
            plan = {"shared_loads": loading.loads, "at_least": loading.lower_bound, "plan": hung}
        echo_figures({"jobs": told, **plan} if len(jobs) > 1 else told[0], shop.currency)
    elif loading:
        proof = "fewer are not possible" if loading.proven else f"at least {loading.lower_bound} are needed"
        loads = counted(loading.loads, "load", "loads")
        tell(
            _plan_table(loading),
            f"Hung together in the larger oven the jobs need {loads} for one cure; {proof}.",
        )


def _plan_table(loading: "Loading") -> Any:
    from pricing.commands.tables import grid

    table = grid("Hung together", ("loads", "rail", "tier", "parts"), left=4)
    for loads, rows in loading.batches:
        for number, row in enumerate(rows):
            turned = ", turned" if row.turned else ""
            each = "" if number else f"{loads} x"
            table.add_row(each, f"{row.rail + 1}", f"{row.tier + 1}", f"{row.pieces} x {row.name}{turned}")
        table.add_section()
    return table


def _sentences(visits: "list[OvenVisit]", heats: "list[CoatHeat]", words: "Words") -> list[str]:
    from pricing.show.oven_view import heat_by_part
    from pricing.show.words import counted

    rows = []
    for visit in visits:
        parts = ", ".join(f"{part} {words.sig(kwh)}" for part, kwh in heat_by_part(visit).items())
        rows.append(f"{words.step_title(visit.step, visit.coat)}, heat in kWh: {parts}")
    rows += [
        f"coat {heat.coat}, {heat.powder}: {counted(heat.visits, 'cure', 'cures')}, worth {words.sig(heat.worth_min)}"
        f" min at the metal temperature of its schedule, which asks for {words.sig(heat.schedule_min)} min"
        for heat in heats
    ]
    return rows


def _figures(visits: "list[OvenVisit]", heats: "list[CoatHeat]") -> dict[str, Any]:
    plain = ("step", "coat", "oven", "loads_paid", "loads_alone", "metal_degC", "bring_up_min", "dwell_min")
    energy = {"heat_kWh": "heat_kwh", "electricity_kWh": "electricity_kwh", "gas_gross_kWh": "gas_kwh"}
    return {
        "visits": [picked(visit, *plain, oven_min="held_min", **energy, cost_money="cost") for visit in visits],
        "coats": [picked(heat, "coat", "powder", "visits", "worth_min", "schedule_min") for heat in heats],
    }


def _share(jobs: tuple[str, ...], folder: str | None) -> "Loading":
    """Plan the last cure of several jobs together; jobs of one schedule may share a load."""
    from pricing.parts.loads import hanging_space
    from pricing.physics.packing_mixed import PartKind, load_oven

    kinds, shop = [], None
    for name in jobs:
        shop, job = read_shop_and_job(folder, name)
        powder = shop.powder(job.powders[shop.finish(job.finish).coats[-1].powder - 1])
        kinds += [
            PartKind(
                name=f"{job.title}: {lot.part.name}",
                count=lot.pieces,
                width_mm=lot.part.width_mm,
                depth_mm=lot.part.depth_mm,
                height_mm=lot.part.height_mm,
                mass_kg=lot.part.mass_kg,
                cure=f"{powder.cure_degC:g} degC, {powder.dwell_min:g} min",
            )
            for lot in job.lots
        ]
    assert shop is not None  # noqa: S101  there is one job at least
    largest = max(shop.machines.oven, key=lambda o: o.inside_width_mm * o.inside_height_mm * o.inside_depth_mm)
    return load_oven(hanging_space(largest), kinds)


@click.command("fit-oven")
@click.argument("oven")
@click.option("--held", required=True, metavar="TIME", help="How long the empty oven was held and metered: '60 min'.")
@click.option("--took", required=True, metavar="ENERGY", help="What burner or elements took in it: '9.5 kWh'.")
@click.option("--at", required=True, metavar="TEMPERATURE", help="Oven air meanwhile: '200 degC'.")
@click.option("--air", required=True, metavar="TEMPERATURE", help="Shop air meanwhile: '18 degC'.")
@click.option("--cooling", required=True, type=click.Path(), help="CSV of the cool-down: columns time, temperature.")
@click.option("--save", is_flag=True, help="Put the fitted factors into shop.toml.")
@SHOP
@JSON
@plain_errors
def fit_oven_command(folder: str | None, *, save: bool, as_json: bool, **given: str) -> None:
    """Fit OVEN to its own tests: one metered hour held empty, and one logged cool-down, door shut, exhaust off."""
    from pathlib import Path

    from pricing.basis.errors import BadInput, Problem
    from pricing.basis.files import read_table
    from pricing.basis.typed import read_field
    from pricing.physics.fit_oven import CONFIDENCE, Readings
    from pricing.shop.folder import open_shop
    from pricing.show.oven_view import fit_words
    from pricing.steps.fit import fit_shop_oven, with_fit

    shop = open_shop(folder)
    rows = read_table(Path(given["cooling"]), ("time", "temperature"))
    readings = Readings(
        held_min=read_field(given["held"], "min", "--held", shop.tongue),
        took_kwh=read_field(given["took"], "kWh", "--took", shop.tongue),
        oven_degC=read_field(given["at"], "degC", "--at", shop.tongue),
        shop_degC=read_field(given["air"], "degC", "--air", shop.tongue),
        times_min=tuple(read_field(row["time"], "min", f"line {row['#']}: time", shop.tongue) for row in rows),
        cooling_degC=tuple(
            read_field(row["temperature"], "degC", f"line {row['#']}: temperature", shop.tongue) for row in rows
        ),
    )
    fit = fit_shop_oven(shop, given["oven"], readings)
    if as_json:
        names = ("bridging", "bridging_low", "bridging_high", "misfit_K")
        shell = {
            "shell_kWh_per_K": fit.shell_kJ_per_K / 3600,
            "shell_low_kWh_per_K": fit.shell_low_kJ_per_K / 3600,
            "shell_high_kWh_per_K": fit.shell_high_kJ_per_K / 3600,
        }
        told = {"oven": given["oven"], **picked(fit, *names), **shell, "confidence": CONFIDENCE}
        echo_figures(told, shop.currency)
    else:
        click.echo(f"{given['oven']}: {fit_words(fit)}")
    if save:
        from pricing.shop.folder import save_shop

        if folder is None:
            mend = "Make your own with `new FOLDER`, and name it with --shop."
            raise BadInput("fit-oven", [Problem("--save", "the demo shop", "used with your own folder", mend)])
        save_shop(with_fit(shop, given["oven"], fit), folder)
        if not as_json:
            click.echo(f"Saved in {folder}.")
