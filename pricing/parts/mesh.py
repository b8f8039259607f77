"""Cast and machined parts, read from a mesh: STL, OBJ, PLY or 3MF.

Takes    a file and the owner's choices.
Gives    a `DrawingReading` of one piece: open surface, metal, sharp outer edges, smallest box.
Rules    a mesh that is not closed has no volume: corners that differ by rounding are joined and told;
         beyond that it is refused, mended with the owner's consent, or gives its area where the owner
         knows thickness or mass. Closed hollows inside are not coated. Spots, plugs and borders cannot
         be seen in a mesh.
"""

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from pricing.basis.errors import BadInput, Problem, choices, nearest
from pricing.basis.facts import fact
from pricing.parts.archive import check_archive
from pricing.parts.bounds import Bounds, need, open_file
from pricing.parts.curves import Points
from pricing.parts.mesh_mend import SAVE_AS, close, turn_open_surface
from pricing.parts.nooks import envelope
from pricing.parts.reading import Choices, DrawingReading, Piece, Seen, unit_of

if TYPE_CHECKING:
    from trimesh import Trimesh

MESH_KINDS = ("stl", "obj", "ply", "3mf")
_UNITS = {"micron": 0.001, "millimeter": 1.0, "centimeter": 10.0, "meter": 1000.0, "inch": 25.4, "foot": 304.8}
_MOST_CORNERS = 4_000  # corners from which only the outermost are used for the box
_MOST_FACINGS = 150  # facings of the hull that are tried for the box
_MOST_DRAWN = 4000  # edges in the picture
_MOST_SHADOW = 20_000  # triangles whose shadow is drawn exactly
_EDGE_ON = 1e-6  # a face seen at less has no shadow


def read_mesh(path: Path, *, chosen: Choices | None = None) -> DrawingReading:
    """Read a mesh (STL, OBJ, PLY, 3MF): one piece and notes.

    ``chosen`` tells its unit, consent to mend, and whether an open surface is enough.

    Raises
    ------
    BadInput
        The file cannot be read, has no unit, is too large, or its surface is open and may not be mended.
    """
    chosen = chosen or Choices()
    need(str(path), "trimesh", "networkx", "lxml", "shapely")
    raw, bounds = open_file(path)
    kind = path.suffix.lower().removeprefix(".")
    if kind not in MESH_KINDS:
        bounds.refuse("the file", f"of kind {path.suffix or '(none)'}", choices(MESH_KINDS), nearest(kind, MESH_KINDS))
    _count_ahead(raw, kind, bounds)
    mesh = _load(raw, kind, bounds)
    del raw
    notes = _scale(mesh, chosen.units, bounds)
    notes += close(mesh, bounds, chosen)
    volume, hidden, inner = _volumes(mesh, bounds) if mesh.is_watertight else turn_open_surface(mesh)
    notes += inner
    edges, edge_mm = _sharp(mesh)
    sides, axes = _box(mesh, bounds)
    notes.append("A mesh shows no spots, plugs or borders: count them on the part.")
    piece = Piece(
        area_m2=(float(mesh.area) - hidden) / 1e6,
        edge_m=edge_mm / 1e3,
        volume_m3=volume / 1e9,
        width_mm=sides[1],
        height_mm=sides[2],
        depth_mm=sides[0],
        outlines=(1,),
        hollow=hidden > 0,
    )
    seen = _seen(mesh, edges, axes)
    return DrawingReading(source=path.name, kind="mesh", pieces=(piece,), seen=tuple(seen), notes=tuple(notes))


def _count_ahead(raw: bytes, kind: str, bounds: Bounds) -> None:
    """Refuse what would not fit into memory before it is loaded."""
    triangles = 0.0
    if kind == "3mf":
        triangles = check_archive(raw, bounds)
    elif kind == "obj":
        triangles = raw.count(b"\nf")
    elif kind == "ply":
        told = re.search(rb"element\s+face\s+(\d{1,18})", raw[:10_000])
        triangles = float(told[1]) if told else 0.0
    bounds.count("triangles", triangles, "drawing.most_triangles")


def _load(raw: bytes, kind: str, bounds: Bounds) -> "Trimesh":
    import trimesh  # heavy: only where a mesh is read

    extra: dict[str, Any] = {"skip_materials": True} if kind == "obj" else {}
    try:
        loaded = trimesh.load_mesh(io.BytesIO(raw), file_type=kind, **extra)
    except Exception as why:
        told = f"damaged, or not {kind.upper()} ({str(why)[:80]})"
        raise BadInput(bounds.where, [Problem("the file", told, f"a whole {kind.upper()} mesh", SAVE_AS)]) from why
    faces = getattr(loaded, "faces", None)
    if faces is None or len(faces) == 0:
        bounds.refuse("the mesh", "without faces", "a closed surface", SAVE_AS)
    bounds.count("triangles", len(faces), "drawing.most_triangles")
    if loaded.vertices.shape[1] != 3 or not np.isfinite(loaded.vertices).all():
        bounds.refuse("the mesh", "with corners that are no points in space", "three finite numbers each", SAVE_AS)
    return loaded


def _scale(mesh: "Trimesh", asked: str, bounds: Bounds) -> list[str]:
    told = str(mesh.metadata.get("units") or "").lower().removesuffix("s")
    told = {"inche": "inch", "feet": "foot"}.get(told, told)
    mend = "A mesh does not say its unit; name it, for example --units mm."
    unit, factor, notes = unit_of(asked, told, _UNITS.get(told, 0.0), bounds, mend)
    mesh.apply_scale(factor)
    size = float(np.ptp(mesh.vertices, axis=0).max())
    most = fact("drawing.most_size", "millimeter")
    least = fact("drawing.least_size", "millimeter")
    if not least <= size <= most:
        mend = "Name the right unit with --units."
        length = f"{size:.4g} mm" if size < 1000 else f"{size / 1000:.4g} m"
        bounds.refuse("the mesh", f"{length} long in {unit}", f"{least:g} mm to {most / 1000:g} m long", mend)
    return notes


def _volumes(mesh: "Trimesh", bounds: Bounds) -> tuple[float, float, list[str]]:
    """Collect metal [mm³] and the area of closed hollows [mm²], which no powder reaches."""
    from trimesh import graph  # heavy: only where a mesh is read

    body_of = np.asarray(graph.connected_component_labels(mesh.face_adjacency, node_count=len(mesh.faces)))
    corners = mesh.triangles - mesh.vertices.mean(axis=0)
    cross = np.cross(corners[:, 1], corners[:, 2])
    six_times = np.einsum("ij,ij->i", corners[:, 0], cross)
    told = np.bincount(body_of, weights=six_times) / 6
    volume = told * np.sign(told[np.argmax(np.abs(told))])  # a mesh may come inside out; its surface is the same
    hollow = (volume < 0) & _inside(mesh, body_of, np.abs(volume))
    turned = (told < 0) != hollow  # their faces look into the metal, and outer edges would pass for inner ones
    mesh.faces = np.where(turned[body_of][:, None], mesh.faces[:, ::-1], mesh.faces)
    total = float(np.where(hollow, volume, np.abs(volume)).sum())
    if not total > 0:
        bounds.refuse("the mesh", "without volume", "a closed surface with metal inside", SAVE_AS)
    area = np.bincount(body_of, weights=mesh.area_faces)
    notes = []
    if hollow.any():
        notes.append(
            f"Closed hollows inside: {int(hollow.sum())}, {area[hollow].sum() / 1e6:.3g} m² not coated. A closed "
            "hollow must be vented before it is heated."
        )
    if (solids := int((~hollow).sum())) > 1:
        notes.append(f"Separate bodies: {solids}, read as one part; exclude the faces where they touch (--hidden).")
    return total, float(area[hollow].sum()), notes


def _inside(mesh: "Trimesh", body_of: npt.NDArray[np.int64], size: Points) -> npt.NDArray[np.bool_]:
    """Tell which bodies lie within the bounds of the largest one."""
    low, high = np.full((len(size), 3), np.inf), np.full((len(size), 3), -np.inf)
    np.minimum.at(low, body_of, mesh.triangles.min(axis=1))
    np.maximum.at(high, body_of, mesh.triangles.max(axis=1))
    k = int(np.argmax(size))
    return np.asarray((low > low[k]).all(axis=1) & (high < high[k]).all(axis=1))


def _sharp(mesh: "Trimesh") -> tuple[npt.NDArray[np.int64], float]:
    """Find outer edges sharp enough to sand: pairs of corners, and their length [mm]."""
    angle = np.degrees(mesh.face_adjacency_angles)
    sharp = (angle > fact("drawing.sharp_angle")) & mesh.face_adjacency_convex
    edges = mesh.face_adjacency_edges[sharp]
    ends = mesh.vertices[edges]
    return edges, float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())


def _box(mesh: "Trimesh", bounds: Bounds) -> tuple[list[float], Points]:
    """Find the smallest box that stands on a facing of the hull: its sides, rising [mm], and its axes."""
    from scipy.spatial import ConvexHull, QhullError  # heavy: only where a mesh is read

    corners = _outermost(np.asarray(mesh.vertices))
    try:
        hull = ConvexHull(corners)
    except QhullError:
        bounds.refuse("the mesh", "flat", "a closed surface with metal inside", SAVE_AS)
    points = corners[hull.vertices]
    normals = hull.equations[:, :3] * np.where(hull.equations[:, :1] < 0, -1.0, 1.0)
    sides = corners[hull.simplices]
    area = np.linalg.norm(np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0]), axis=1)
    _, first, group = np.unique(np.round(normals, 6), axis=0, return_index=True, return_inverse=True)
    facings = normals[first[np.argsort(-np.bincount(group.ravel(), weights=area))][:_MOST_FACINGS]]
    best = (np.inf, np.inf)
    found: tuple[list[float], Points] = ([], facings)
    for normal in facings:
        across = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
        plane = np.array([across, np.cross(normal, across)]) / np.linalg.norm(across)
        short, long, way = envelope(points @ plane.T)
        lengths = np.array([float(np.ptp(points @ normal)), short, long])
        mark = (float(lengths.prod()), float(lengths.max()))
        if mark[0] < best[0] * (1 - 1e-9) or (mark[0] <= best[0] * (1 + 1e-9) and mark[1] < best[1]):
            axes = np.vstack((normal, (way[1], -way[0]) @ plane, way @ plane))
            order = np.argsort(lengths)
            best, found = mark, (lengths[order].tolist(), axes[order])
    return found


def _outermost(corners: Points) -> Points:
    """Keep of very many corners the outermost in 2,000 directions, which hold the box to 0.1 %."""
    if len(corners) <= _MOST_CORNERS:
        return corners
    k = np.arange(2048) + 0.5
    height, turn = 1 - 2 * k / 2048, np.pi * (1 + 5**0.5) * k  # points evenly spread over a sphere
    flat = np.sqrt(1 - height**2)
    ways = np.column_stack((flat * np.cos(turn), flat * np.sin(turn), height))
    across = np.ascontiguousarray(corners.T)
    outer = [np.argmax(ways[i : i + 8] @ across, axis=1) for i in range(0, len(ways), 8)]
    return np.asarray(corners[np.unique(np.concatenate(outer))])


def _seen(mesh: "Trimesh", edges: npt.NDArray[np.int64], axes: Points) -> list[Seen]:
    """Draw the shape and its sharp edges as seen along the box's shortest side."""
    import shapely  # heavy: only where a mesh is read

    flat = np.asarray(mesh.vertices) @ axes[1:].T
    front = np.asarray(mesh.face_normals) @ axes[0] > _EDGE_ON
    if 0 < front.sum() <= _MOST_SHADOW:
        seam = fact("drawing.flatten", "millimeter")  # closes the hairs between rounded triangles
        shadow = shapely.union_all(shapely.polygons(flat[mesh.faces[front]]), grid_size=1e-3)
        shadow = shapely.buffer(shapely.buffer(shadow, seam, join_style="mitre"), -seam, join_style="mitre")
    else:  # the outline of a hull is enough for the eye
        shadow = shapely.convex_hull(shapely.multipoints(flat))
    rings = [
        (ring, role)
        for body in shapely.get_parts(shadow)
        for role, part in (("outer", [body.exterior]), ("hole", list(body.interiors)))
        for ring in part
    ]
    ends = flat[edges]
    longest = np.argsort(-np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1))[:_MOST_DRAWN]
    return [
        Seen(
            id=k,
            role="outer" if role == "outer" else "hole",
            layer="",
            points=shapely.get_coordinates(ring),
            lined=tuple(ends[longest]) if k == 1 else (),
        )
        for k, (ring, role) in enumerate(rings, 1)
    ]
