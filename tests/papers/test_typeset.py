"""What sets the pages: templates of the owner's reach nothing, texts stay texts, fonts are the same everywhere."""

import json
import os
import socket
import threading
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from pricing.basis.errors import BadInput
from pricing.basis.facts import data_folder
from pricing.papers import typeset
from pricing.papers.pages import fill
from pricing.papers.printed_list import list_fields
from pricing.papers.told import clean, plain
from pricing.papers.typeset import to_pdf
from pricing.parts.items import Item
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from tests.papers.pdfs import metadata, text_of

FIELDS = {"title": "A paper", "shop": "A shop", "foot": "below", "letterhead": [], "words": "said"}


def set_with(own: Path, source: str, **fields: Any) -> bytes:
    (own / "templates" / "mine.typ").write_text(source, "utf-8")
    return to_pdf(open_shop(own), "mine.typ", FIELDS | fields, "a4")


def told(own: Path, source: str, **fields: Any) -> str:
    path = own / "mine.pdf"
    path.write_bytes(set_with(own, source, **fields))
    return " ".join(text_of(path).split())


@pytest.mark.parametrize(
    "text",
    ['#read("../shop.toml")', "*bold* _slanted_ $x^2$ @ref <label>", "= No heading", '#eval("1+1")', "\\ # \" ' &"],
)
def test_what_is_printed_stays_text(own: Path, text: str) -> None:
    assert text.replace(" ", "") in told(own, "= Paper\n#it.words", words=text).replace(" ", "")


@pytest.mark.parametrize(
    "source",
    [
        '#read("../shop.toml")',
        '#read("/../shop.toml")',
        '#read("/etc/hostname")',
        '#include "../rates.csv"',
        '#image("../../logo.png")',
    ],
)
def test_a_template_reads_nothing_outside_its_folder(own: Path, source: str) -> None:
    with pytest.raises(BadInput, match="mine.typ"):
        set_with(own, source)


def test_a_template_may_show_a_picture_of_its_folder(own: Path) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9" height="9"/></svg>'
    (own / "templates" / "logo.svg").write_text(svg, "utf-8")
    assert "beside" in told(own, '= Paper\n#figure(image("logo.svg"), alt: "our sign")\nbeside')


def test_a_link_out_of_the_folder_is_refused(own: Path) -> None:
    (own / "templates" / "logo.svg").symlink_to(own / "shop.toml")
    with pytest.raises(BadInput, match="a link that leads out"):
        set_with(own, '#read("logo.svg")')
    (own / "templates" / "mine.html").write_text('{% include "logo.svg" %}', "utf-8")
    with pytest.raises(BadInput, match="a link that leads out"):
        fill(open_shop(own), "mine.html", {})


@pytest.mark.parametrize(
    "source",
    [
        '#import "@preview/cetz:0.3.0"',
        '#import "@pre" + "view/cetz:0.3.0"',
        '#eval("import \\"@preview/cetz:0.3.0\\"")',
    ],
)
def test_no_template_reaches_the_network(own: Path, source: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A package server is asked by way of one port of this machine; whoever listens there hears the whole attempt."""
    with socket.socket() as ear:
        ear.bind(("127.0.0.1", 0))
        ear.listen()
        heard: list[bytes] = []

        def listen() -> None:
            caller, _ = ear.accept()
            with caller:
                heard.append(caller.recv(200))

        thread = threading.Thread(target=listen, daemon=True)
        thread.start()
        monkeypatch.setattr(typeset, "_NOWHERE", f"http://127.0.0.1:{ear.getsockname()[1]}")
        monkeypatch.setenv("no_proxy", "*")
        with pytest.raises(BadInput, match="nothing is fetched"):
            set_with(own, source)
        thread.join(30)
    assert heard
    assert heard[0].startswith(b"CONNECT ")
    assert os.environ["no_proxy"] == "*"  # all is as it was
    assert "https_proxy" not in os.environ or "127.0.0.1" not in os.environ["https_proxy"]


def test_mistakes_are_told_by_file_and_line_with_the_names_there_are(own: Path) -> None:
    with pytest.raises(BadInput, match=r"(?s)templates/mine.typ.*line 3.*word.*letterhead, shop, title, words"):
        set_with(own, "= Paper\n\n#it.word\n")
    style = (own / "templates" / "style.typ").read_text("utf-8")
    (own / "templates" / "style.typ").write_text(style + "\n#nonsense\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)templates/style.typ.*nonsense"):
        set_with(own, "= Paper")
    (own / "templates" / "style.typ").unlink()
    assert "said" in told(own, "= Paper\n#it.words")  # the demo's stands in


def test_papers_are_of_our_fonts_and_the_same_without_the_systems(
    shop: Shop, items: dict[str, Item], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(typeset, "_fonts", _only_ours)
    path = tmp_path / "list.pdf"
    path.write_bytes(to_pdf(shop, "price_list.typ", list_fields(shop, items, day=date(2026, 11, 25)), "a4"))
    used = {
        str(font["/BaseFont"])
        for page in PdfReader(path).pages
        for font in (one.get_object() for one in page["/Resources"]["/Font"].values())  # type: ignore[index]
    }
    assert used
    assert all("Lato" in name for name in used), used
    assert "SIL Open Font License" in (data_folder() / "fonts" / "OFL.txt").read_text("utf-8")


def _only_ours(folder: Path, system: bool) -> Any:
    import typst

    assert not system, "a paper of the demo shop must not need the system's fonts"
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)])


@pytest.mark.parametrize("name", ["Ιωάννης", "Ольга Щ.", "Łódź & Søn, İzmir", "Nguyễn Thị Ánh"])
def test_names_in_other_letters_are_printed_in_the_archive_form(own: Path, name: str) -> None:
    assert name.replace(" ", "") in told(own, "= Paper\n#it.words", words=name).replace(" ", "")
    assert "pdfaid" in metadata(own / "mine.pdf")


@pytest.mark.parametrize("name", ["日本語", "ประตู", "गेट", "שער"])
def test_a_sign_that_no_font_has_is_no_reason_to_have_no_paper(own: Path, name: str) -> None:
    assert "Paper" in told(own, "= Paper\n#it.words", words=name)  # with the system's fonts, or an empty box


def test_a_name_without_gaps_stays_inside_its_column(shop: Shop, items: dict[str, Item], tmp_path: Path) -> None:
    [(key, item), *_] = items.items()
    long = {key: item.model_copy(update={"title": "Schilderhalterung" * 7})}
    (tmp_path / "l.pdf").write_bytes(
        to_pdf(shop, "price_list.typ", list_fields(shop, long, day=date(2026, 11, 25)), "a4")
    )
    assert "<pdfuaid:part>1" in metadata(tmp_path / "l.pdf")
    assert "".join(text_of(tmp_path / "l.pdf").replace("\u200b", "").split()).count("Schilderhalterung") == 7
    rows = [line for line in text_of(tmp_path / "l.pdf").splitlines() if "Schilder" in line or "halterung" in line]
    assert len(rows) >= 3
    assert max(map(len, rows)) < 80


def test_the_same_paper_is_the_same_file(shop: Shop, items: dict[str, Item]) -> None:
    first, again = (
        to_pdf(shop, "price_list.typ", list_fields(shop, items, day=date(2026, 11, 25)), "a4") for _ in range(2)
    )
    assert first == again


def test_a_template_that_skips_a_heading_is_set_all_the_same(own: Path) -> None:
    assert "deep" in told(own, "= Paper\n=== deep")


STEERING = "\x00\x07\x1b[2J\u202e\u2066\u200f\ufeff\ue000\x85"


def test_nothing_that_steers_reaches_a_paper(own: Path) -> None:
    found = told(own, "= Paper\n#it.words", words=f"Gate{STEERING}end", shop=f"Shop{STEERING}")
    assert "Gate[2Jend" in found
    assert not set(STEERING) & set(found) - set("[2J")
    given = json.dumps(plain({f"k{STEERING}": [f"a{STEERING}", ("b\u202c", {"c": "d\u2069"})]}), ensure_ascii=False)
    assert given == '{"k[2J": ["a[2J", ["b", {"c": "d"}]]}'
    joined = "\u0645\u06cc\u200c\u062e \u0915\u094d\u200d\u0937"  # joiners that these scripts are written with
    assert clean(joined) == joined


def test_the_shop_is_not_asked_for_a_folder(shop: Shop) -> None:
    bare = replace(shop, folder=None)
    (_, *pages) = [to_pdf(bare, "price_list.typ", _small(bare), paper) for paper in ("a4", "letter")]
    assert pages[0].startswith(b"%PDF")


def _small(shop: Shop) -> dict[str, Any]:
    return {**FIELDS, "intro": "", "groups": [], "columns": [], "rows": [], "below": [], "terms": []}
