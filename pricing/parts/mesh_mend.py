"""Meshes that are not closed: joined where only rounding parts them, mended with consent, or taken open."""

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from pricing.basis.facts import fact
from pricing.parts.bounds import Bounds
from pricing.parts.planar_graph import labels_of
from pricing.parts.reading import Choices

if TYPE_CHECKING:
    from trimesh import Trimesh

SAVE_AS = "Export it again, as STL with a fine resolution."


def close(mesh: "Trimesh", bounds: Bounds, chosen: Choices) -> list[str]:
    """Join corners that are one point, drop faces without corners enough; then closed, open, mended or refused."""
    mesh.metadata.clear()
    same = fact("drawing.same_point", "millimeter")
    mesh.merge_vertices(digits_vertex=round(-np.log10(same)), merge_tex=True, merge_norm=True)
    _drop_slivers(mesh)
    if not len(mesh.faces):
        bounds.refuse("the mesh", "without area", "a closed surface", SAVE_AS)
    if mesh.is_watertight and mesh.is_winding_consistent:
        return []
    open_edges = len(_open_edges(mesh))
    if _join_corners(mesh, near := fact("drawing.same_corner", "millimeter")):
        return [f"Open along {open_edges} edges by rounding: corners up to {near:g} mm apart were read as one."]
    told = f"open along {open_edges} edges" if open_edges else "closed, but with faces turned or doubled"
    if not chosen.repair:
        if open_edges and chosen.open_surface:
            taken = "the area is what is drawn, as both faces of a wall; its metal is half of it times the thickness"
            return [f"Open along {open_edges} edges: {taken}. Where it shows one face only, double both in the job."]
        mend = "Close it in the program it comes from, let it be mended (--repair) and look at the picture, or"
        known = "name its --thickness or --mass and take the area as it is." if open_edges else "save it again."
        bounds.refuse("the mesh", told, "closed", f"{mend} {known}")
    bounds.count("triangles to mend", len(mesh.faces), "drawing.most_mended")
    before = float(mesh.area)
    with np.errstate(all="ignore"):  # what comes out is judged, whatever its scraps divide by
        mended = _mend(mesh)
    if not (mesh.is_watertight and mesh.is_winding_consistent):
        left = f"{told}; after mending still open along {len(_open_edges(mesh))} edges"
        bounds.refuse("the mesh", left, "closed", "Close it in the program it comes from.")
    return [f"Mended as you asked ({told}): {mended}; area {(mesh.area / before - 1) * 100:+.2g} %."]


def _drop_slivers(mesh: "Trimesh") -> None:
    a, b, c = mesh.faces.T
    mesh.update_faces((a != b) & (b != c) & (c != a))


def _join_corners(mesh: "Trimesh", near_mm: float) -> bool:
    """Join corners on open edges that lie this close, if that closes the mesh; else leave it as it is."""
    from scipy.spatial import cKDTree  # heavy: only where a mesh is open

    loose = np.unique(_open_edges(mesh))
    pairs = cKDTree(mesh.vertices[loose]).query_pairs(near_mm, output_type="ndarray")
    if not len(pairs):
        return False
    group = labels_of(pairs, len(loose))
    _, first = np.unique(group, return_index=True)
    one = np.arange(len(mesh.vertices))
    one[loose] = loose[first[group]]
    joined = mesh.copy()
    joined.faces = one[joined.faces]
    _drop_slivers(joined)
    if not (len(joined.faces) and joined.is_watertight and joined.is_winding_consistent):
        return False
    mesh.faces = joined.faces
    mesh.remove_unreferenced_vertices()
    return True


def turn_open_surface(mesh: "Trimesh") -> tuple[float, float, list[str]]:
    """Turn the faces of an open mesh one way; it has no metal of its own and hides nothing."""
    from trimesh import repair  # heavy: only where a mesh is read

    mesh.update_faces(mesh.unique_faces())
    repair.fix_winding(mesh)
    corners = mesh.triangles - mesh.vertices.mean(axis=0)
    if np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) < 0:
        mesh.invert()
    return 0.0, 0.0, []


def _open_edges(mesh: "Trimesh") -> npt.NDArray[np.int64]:
    edges, count = np.unique(mesh.edges_sorted, axis=0, return_counts=True)
    return np.asarray(edges[count != 2])


def _mend(mesh: "Trimesh") -> str:
    from trimesh import repair  # heavy: only where a mesh is read

    faces = len(mesh.faces)
    mesh.update_faces(mesh.unique_faces())
    doubled = faces - len(mesh.faces)
    repair.fix_winding(mesh)
    faces = len(mesh.faces)
    repair.fill_holes(mesh, use_fan=True)
    filled = len(mesh.faces) - faces
    return f"{doubled} doubled faces taken out, holes closed with {filled} faces"
