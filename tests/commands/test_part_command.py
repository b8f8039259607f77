"""The command ``part``: printed, as JSON, drawn, and appended to the owner's job and items."""

import json
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest
import trimesh
from click.testing import CliRunner

from pricing.commands.main import main
from pricing.costing.sheet import cost
from pricing.parts.items import read_items
from pricing.parts.job import read_job
from pricing.shop.folder import open_shop
from tests.conftest import ROOT
from tests.parts.drafts import closed, draw, rectangle

DRAWINGS = ROOT / "data" / "drawings"
LETTER = (str(DRAWINGS / "sign_letter_p.dxf"), "--thickness", "4 mm", "--material", "mild steel")


def run(*words: str) -> str:
    result = CliRunner().invoke(main, ["part", *words])
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: str) -> str:
    result = CliRunner().invoke(main, ["part", *words])
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    return result.output


def figures(*words: str) -> Any:
    return json.loads(run(*words, "--json"))


def test_a_part_is_printed() -> None:
    text = run(*LETTER)
    assert "sign_letter_p, mild steel" in text
    for row in (
        "area coated                        0.0833 m²",
        "border of two colours                 1.3 m",
        "  round holes of 5.2 mm                    2",
        "The file's unit is mm.",
        "Left out: 1 TEXT.",
    ):
        assert " ".join(row.split()) in " ".join(text.split())


def test_json_has_every_figure_with_its_unit() -> None:
    told = figures(*LETTER)
    part = told["parts"][0]
    assert part["mass_kg"] == pytest.approx(part["thickness_mm"] / 1e3 * told["pieces"][0]["face_m2"] * 7850, rel=1e-5)
    assert part["edge_m"] == pytest.approx(2 * part["line_m"], rel=1e-5)
    assert told["pieces"][0]["holes"] == [{"diameter_mm": 5.2, "count": 2}]
    assert {"area_m2", "mass_kg", "spots", "plugs", "width_mm", "height_mm", "depth_mm"} <= set(part)


def test_the_thickness_may_be_in_inches_and_gauge_less() -> None:
    part = figures(LETTER[0], "--thickness", "1/8 in", "--material", "aluminium")["parts"][0]
    assert part["thickness_mm"] == pytest.approx(3.175)


def test_a_sheet_of_several_kinds_is_one_table_and_one_piece_can_be_picked() -> None:
    sheet = (
        str(DRAWINGS / "house_numbers_inch.dxf"),
        "--thickness",
        "3 mm",
        "--material",
        "aluminium",
        "--without",
        "1",
    )
    text = run(*sheet)
    assert "aluminium, 13 pieces; measures of one piece" in text
    assert [p["count"] for p in figures(*sheet)["parts"]] == [3, 2, 8]
    assert [p["piece"] for p in figures(*sheet, "--piece", "2")["parts"]] == [2]
    assert "piece is 4; it must be 1 to 3." in refused(*sheet, "--piece", "4")


def test_a_mesh_with_hidden_area() -> None:
    mesh = (str(DRAWINGS / "finial_mm.stl"), "--units", "mm", "--material", "aluminium", "--casting")
    whole, less = figures(*mesh)["parts"][0], figures(*mesh, "--hidden", "20 cm2", "--thickness", "20 mm")["parts"][0]
    assert whole["area_m2"] - less["area_m2"] == pytest.approx(0.002, abs=1e-6)
    assert (whole["casting"], less["thickness_mm"]) == (True, 20.0)
    assert figures(*mesh)["notes"][-1].startswith("Thickness: twice volume over area stands in")
    assert "Thickness:" not in run(*mesh, "--thickness", "20 mm")


def test_settings_reach_the_reader() -> None:
    assert figures(*LETTER, "--plug", "6 mm", "20 mm")["parts"][0]["plugs"] == 0
    assert figures(*LETTER, "--finger", "1 mm")["parts"][0]["spots"] == 0
    bracket = (str(DRAWINGS / "shelf_bracket.dxf"), "--thickness", "5 mm", "--material", "mild steel")
    assert figures(*bracket, "--visible", "FRONT")["parts"][0]["line_m"] == pytest.approx(0.4241, abs=2e-4)
    assert "open by 0.08 mm" in refused(*bracket, "--gap", "0.01 mm")
    assert "bracket, left, mild steel" in run(*bracket, "--name", "bracket, left")


def test_open_lines_and_sheets_are_switched_for_all_at_once(tmp_path: Path) -> None:
    def make(space: Any) -> None:
        closed(space, rectangle(300, 200))
        for k in range(2):
            closed(space, rectangle(100, 80, (20 + 150 * k, 20)))
            space.add_circle((70 + 150 * k, 60), 5)
            space.add_line((30 + 150 * k, 30), (90 + 150 * k, 30))

    draw(make).saveas(tmp_path / "sheet.dxf")
    words = (str(tmp_path / "sheet.dxf"), "--thickness", "3 mm", "--material", "aluminium")
    assert "--closed" in refused(*words)
    assert [p["count"] for p in figures(*words, "--closed")["parts"]] == [2]
    assert [p["count"] for p in figures(*words, "--closed", "--keep", "1")["parts"]] == [1, 2]


def test_an_open_mesh_takes_its_mass_or_thickness(tmp_path: Path) -> None:
    box = trimesh.creation.box((100, 100, 100))
    box.update_faces(box.face_normals[:, 2] < 0.5)
    box.export(tmp_path / "tray.stl")
    words = (str(tmp_path / "tray.stl"), "--units", "mm", "--material", "aluminium")
    assert "name its --thickness or --mass" in refused(*words)
    part = figures(*words, "--mass", "2 lb")["parts"][0]
    assert (part["mass_kg"], part["area_m2"]) == pytest.approx((0.9072, 0.05), rel=1e-4)
    assert part["thickness_mm"] == pytest.approx(2e3 * 0.907185 / 2700 / 0.05, rel=1e-4)
    assert figures(*words, "--thickness", "3 mm")["parts"][0]["mass_kg"] == pytest.approx(0.025 * 0.003 * 2700)
    assert "--mass is '2 m'; it must be a quantity in kg." in refused(*words, "--mass", "2 m")


def test_a_picture_is_drawn_also_of_what_cannot_be_measured(tmp_path: Path) -> None:
    run(*LETTER, "--svg", str(tmp_path / "p.svg"))
    assert (tmp_path / "p.svg").read_text("utf-8").startswith("<svg ")
    bracket = (
        str(DRAWINGS / "shelf_bracket.dxf"),
        "--thickness",
        "5 mm",
        "--material",
        "mild steel",
        "--gap",
        "0.01 mm",
    )
    text = refused(*bracket, "--svg", str(tmp_path / "bad.svg"))
    assert "The outlines that cannot be measured are drawn in" in text
    assert 'class="bad"' in (tmp_path / "bad.svg").read_text("utf-8")
    assert "--svg is 'p.txt'; it must be a file that ends in .svg." in refused(*LETTER, "--svg", "p.txt")


def test_all_that_is_missing_is_told_before_the_file_is_read(tmp_path: Path) -> None:
    text = refused(str(tmp_path / "none.dxf"), "--svg", "x.png", "--item", "a", "b")
    for word in ("--svg is 'x.png'", "--material is 'missing'", "--item is 'a'"):
        assert word in text
    assert "thickness is 'missing'" in refused(LETTER[0], "--material", "mild steel")
    assert "--thickness is 'thin'; it must be a quantity in mm." in refused(
        LETTER[0], "--thickness", "thin", *LETTER[3:]
    )
    assert "material is 'steel'; it must be" in refused(*LETTER[:3], "--material", "steel")
    assert "the file is 'not there'" in refused(str(tmp_path / "none.dxf"), *LETTER[1:])


def test_a_part_goes_into_a_job_whose_words_are_kept(own: Path) -> None:
    job = own / "jobs" / "letters.toml"
    job.parent.mkdir(exist_ok=True)
    shutil.copy(ROOT / "data" / "jobs" / "sign_letters.toml", job)
    before = job.read_text("utf-8")
    sheet = (
        str(DRAWINGS / "house_numbers_inch.dxf"),
        "--thickness",
        "3 mm",
        "--material",
        "aluminium",
        "--without",
        "1",
    )
    run(*sheet, "--job", str(job), "--shop", str(own))
    run(*LETTER, "--name", 'letter "P"', "--job", str(job), "--shop", str(own))
    after = job.read_text("utf-8")
    assert after.startswith(before.rstrip())
    shop = open_shop(own)
    read = read_job(job, shop, read_items(shop))
    assert [lot.quantity for lot in read.lots] == [9, 3, 2, 8, 1]
    assert read.lots[-1].part.name == 'letter "P"'
    assert read.lots[-1].part.line_m == pytest.approx(figures(*LETTER)["parts"][0]["line_m"], rel=1e-5)
    assert cost(shop, read).total > 0


def test_a_part_goes_into_the_items(own: Path) -> None:
    before = (own / "items.csv").read_text("utf-8")
    run(*LETTER, "--item", "letter_p", "sign_letter_300", "--shop", str(own))
    assert (own / "items.csv").read_text("utf-8").startswith(before.rstrip("\n"))
    items = read_items(open_shop(own))
    assert items["letter_p"].part.spots == 3
    assert items["letter_p"].powders == items["sign_letter_300"].powders
    assert items["letter_p"].part.second_share == pytest.approx(0.47, abs=0.02)
    now = (own / "items.csv").read_text("utf-8")
    assert "item is 'letter_p'; it must be there once" in refused(
        *LETTER, "--item", "letter_p", "sign_letter_300", "--shop", str(own)
    )
    assert "Did you mean 'sign_letter_300'?" in refused(*LETTER, "--item", "q", "sign_leter_300", "--shop", str(own))
    assert "No Key" in refused(*LETTER, "--item", "No Key", "sign_letter_300", "--shop", str(own))
    assert (own / "items.csv").read_text("utf-8") == now


def test_the_demo_stays_as_it_is_and_a_bad_job_too(own: Path, tmp_path: Path) -> None:
    assert "it must be a job of your own." in refused(*LETTER, "--job", "sign_letters")
    bad = tmp_path / "bad.toml"
    bad.write_text('title = "x"\n', "utf-8")
    assert "needs mending" in refused(*LETTER, "--job", str(bad), "--shop", str(own))
    assert bad.read_text("utf-8") == 'title = "x"\n'


def test_us_shops_read_feet_and_inches(own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8")
    assert 'units = "metric"' in text
    (own / "shop.toml").write_text(text.replace('units = "metric"', 'units = "us"'), "utf-8")
    told = run(*LETTER, "--shop", str(own))
    assert "ft²" in told
    assert "11.8 in" in told  # 300 mm


def test_nothing_heavy_is_loaded_by_the_help() -> None:
    import subprocess

    code = (
        "import sys\nfrom pricing.commands.main import main\ntry:\n    main(['part', '--help'])\nexcept SystemExit:\n"
        "    pass\nheavy = {'ezdxf', 'trimesh', 'shapely', 'scipy', 'networkx', 'lxml', 'pint'} & set(sys.modules)\n"
        "sys.exit(f'loaded: {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    assert "--thickness" in done.stdout
