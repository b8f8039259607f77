"""Packed mesh files (3MF) looked through before they are unpacked.

A packed file can hold a thousand times its size and declare less, and a few lines in it can ask for a
million copies of a body; both are measured here, piece by piece, before a reader trusts it.
"""

import io
import zipfile
from collections import defaultdict
from copy import copy

from pricing.basis.errors import BadInput
from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds

_MOST_FILES = 1000
_DEPTH = 32
_PIECE = 1 << 16  # bytes unpacked at once
Copies = dict[str, list[str]]


def check_archive(raw: bytes, bounds: Bounds) -> float:
    """Count the triangles of a packed file once every copy is made, which may be astronomic.

    Raises
    ------
    BadInput
        It is damaged, locked, unpacks to more than ``drawing.most_unpacked``, or holds declarations that
        grow when read.
    """
    mend = "Export it again, with a coarser resolution or as STL."
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            inside = packed.infolist()
            size = sum(info.file_size for info in inside)
            if size > (most := fact("drawing.most_unpacked")) or len(inside) > _MOST_FILES:
                told = f"{len(raw) / 1e6:.3g} MB that unpack to {size / 1e6:,.0f} MB"
                bounds.refuse("the file", told, f"at most {most / 1e6:g} MB unpacked", mend)
            if any(info.flag_bits & 1 for info in inside):
                bounds.refuse("the file", "locked with a password", "a file that can be read", mend)
            models = {info.filename: _unpacked(packed, info, bounds, mend) for info in inside}
    except BadInput:
        raise
    except Exception as why:  # noqa: BLE001  each way of packing has errors of its own
        bounds.refuse("the file", f"damaged ({why})", "a whole 3MF file", mend)
    models = {name: text for name, text in models.items() if name.lower().endswith(".model")}
    main = next((name for name in models if "3d/3dmodel.model" in name.lower()), "")
    if not main:
        bounds.refuse("the file", "without a model inside", "a 3MF file", mend)
    whole = {name: _triangles(text, bounds) for name, text in models.items()}
    own, parts, built = whole[main]
    for name, (counts, _, _) in whole.items():
        own[f"/{name}"] = sum(counts.values())
    return sum(_copied(item, own, parts, {}, 0) for item in built)


def _unpacked(packed: zipfile.ZipFile, info: zipfile.ZipInfo, bounds: Bounds, mend: str) -> bytes:
    """Unpack one file in small pieces, and refuse it as soon as it holds more than it declares."""
    if info.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:  # the standard knows no other way
        bounds.refuse("the file", "packed in another way than 3MF is", "a 3MF file", mend)
    declared = info.file_size
    honest = copy(info)
    honest.file_size = declared + _PIECE  # the library stops at the declared size, and then unpacks the rest at once
    pieces, size = [], 0
    with packed.open(honest) as stream:
        while piece := stream.read(_PIECE):
            size += len(piece)
            if size > declared:
                bounds.refuse("the file", f"holding more than the {declared} bytes it declares", "as declared", mend)
            pieces.append(piece)
    return b"".join(pieces)


def _triangles(text: bytes, bounds: Bounds) -> tuple[dict[str, float], Copies, list[str]]:
    """Count triangles by object, components by object, and what is built."""
    from lxml import etree  # heavy: only where a packed mesh is read

    own: dict[str, float] = defaultdict(float)
    parts: Copies = defaultdict(list)
    built: list[str] = []
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text or b"<\0!\0" in text or b"\0<\0!" in text:
        bounds.refuse("the file", "with declarations of its own", "plain 3MF", "Export it again.")
    try:
        walk = etree.iterparse(io.BytesIO(text), tag=("{*}object", "{*}item"), events=("end",), resolve_entities=False)
        for _, node in walk:
            if etree.QName(node).localname == "item":
                built.append(node.get("objectid", ""))
                continue
            number = node.get("id", "")
            own[number] += sum(len(found) for found in node.iter("{*}triangles"))
            for part in node.iter("{*}component"):
                path = next((v for k, v in part.attrib.items() if k.endswith("path")), "")
                parts[number].append(f"/{path.strip('/')}" if path else part.get("objectid", ""))
            node.clear()
    except etree.XMLSyntaxError as why:
        bounds.refuse("the file", f"damaged ({str(why)[:80]})", "a whole 3MF file", "Export it again.")
    return own, parts, built


def _copied(item: str, own: dict[str, float], parts: Copies, known: dict[str, float], depth: int) -> float:
    if depth > _DEPTH:
        return float("inf")  # copies of copies without end
    if item not in known:
        known[item] = float("inf")  # met again while it is being counted, it holds itself
        known[item] = own.get(item, 0.0) + sum(_copied(p, own, parts, known, depth + 1) for p in parts.get(item, ()))
    return known[item] + 1  # a copy of nothing takes a little, too
