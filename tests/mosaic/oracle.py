"""Coverage by brute force, written from the definitions alone: it shares no code with the planner.

Positions are degrees, panels are (ra, dec, position angle) tuples; every question is answered point by point.
"""

from __future__ import annotations

import numpy as np


def vectors(ra_deg, dec_deg):
    ra, dec = np.radians(ra_deg), np.radians(dec_deg)
    return np.array([np.cos(ra) * np.cos(dec), np.sin(ra) * np.cos(dec), np.sin(dec)]).T


def axes(ra_deg, dec_deg, angle_deg):
    """Left, up and outward unit vectors of a panel."""
    ra, dec, angle = np.radians([ra_deg, dec_deg, angle_deg])
    east = np.array([-np.sin(ra), np.cos(ra), 0])
    north = np.array([-np.sin(dec) * np.cos(ra), -np.sin(dec) * np.sin(ra), np.cos(dec)])
    out = vectors(ra_deg, dec_deg)
    return np.cos(angle) * east - np.sin(angle) * north, np.cos(angle) * north + np.sin(angle) * east, out


def in_outline(points, outline):
    """Whether unit vectors lie in a polygon, by the winding of its corners about each point."""
    corners = vectors(*np.array(outline, dtype=float).T)
    east = np.cross([0.3, -0.5, 0.8], points)
    east /= np.linalg.norm(east, axis=1, keepdims=True)
    angle = np.arctan2(east @ corners.T, np.cross(points, east) @ corners.T)
    steps = np.diff(angle, axis=1, append=angle[:, :1])
    winding = ((steps + np.pi) % (2 * np.pi) - np.pi).sum(axis=1)
    return (np.abs(winding) > np.pi) & (points @ corners.mean(axis=0) > 0)


def in_parts(points, parts):
    """Whether unit vectors lie in any of several polygons."""
    return np.any([in_outline(points, outline) for outline in parts], axis=0)


def plane_xy(points, panel):
    left, up, out = axes(*panel)
    depth = points @ out
    depth = np.where(depth > 1e-6, depth, np.nan)
    return np.stack([points @ left / depth, points @ up / depth], axis=-1)


def in_panel(points, panel, half, *, slack=0.0):
    xy = np.abs(plane_xy(points, panel))
    with np.errstate(invalid="ignore"):
        return (xy[:, 0] <= half[0] + slack) & (xy[:, 1] <= half[1] + slack)


def along_rim(outline, count):
    """Points along the rim of a polygon, a hair inside."""
    corners = vectors(*np.array(outline, dtype=float).T)
    share = (np.arange(max(4, count // len(corners))) / max(4, count // len(corners)))[None, :, None]
    rim = ((1 - share) * corners[:, None] + share * np.roll(corners, -1, axis=0)[:, None]).reshape(-1, 3)
    rim += 1e-8 * (corners.mean(axis=0) - rim)
    rim /= np.linalg.norm(rim, axis=1, keepdims=True)
    return rim[in_outline(rim, outline)]


def spread_over(outline, count, rng):
    """Random points in a polygon and points along its rim."""
    corners = vectors(*np.array(outline, dtype=float).T)
    middle = corners.mean(axis=0)
    middle /= np.linalg.norm(middle)
    radius = np.arccos(np.clip(corners @ middle, -1, 1)).max() * 1.02
    e = np.cross([0.1, 0.7, -0.4], middle)
    e /= np.linalg.norm(e)
    n = np.cross(middle, e)
    found = []
    while sum(map(len, found)) < count:
        rho, phi = radius * np.sqrt(rng.random(4 * count)), 2 * np.pi * rng.random(4 * count)
        trial = np.cos(rho)[:, None] * middle + (np.sin(rho) * np.cos(phi))[:, None] * e
        trial += (np.sin(rho) * np.sin(phi))[:, None] * n
        found.append(trial[in_outline(trial, outline)])
    return np.concatenate([np.concatenate(found)[:count], along_rim(outline, count // 2)])


def uncovered(points, panels, half):
    """Points that lie in no panel."""
    inside = np.zeros(len(points), dtype=bool)
    for panel in panels:
        inside |= in_panel(points, panel, half, slack=1e-12)
    return points[~inside]


def unserved(points, panels, half, box, outline, *, fineness=7):
    """Points of one polygon that are unserved; see `unserved_in_parts`."""
    return unserved_in_parts(points, panels, half, box, [outline], fineness=fineness)


def unserved_in_parts(points, panels, half, box, parts, *, fineness=7):
    """Points whose box, cut with the region, lies whole in no panel; the box is squared with each panel.

    Each box is probed at a lattice of points with its rim, and wherever the region's rim runs through it. A
    tiny part outside may go unseen, but nothing that is served is ever called unserved.
    """
    steps = np.linspace(-1, 1, fineness)
    lattice = np.stack(np.meshgrid(steps * box[0], steps * box[1]), axis=-1).reshape(-1, 2)
    rim = np.concatenate([along_rim(outline, 1500) for outline in parts])
    served = np.zeros(len(points), dtype=bool)
    for panel in panels:
        asked = np.flatnonzero(~served & in_panel(points, panel, half, slack=1e-12))
        middles = plane_xy(points[asked], panel)
        rim_xy = plane_xy(rim[~in_panel(rim, panel, half, slack=1e-10)], panel)
        with np.errstate(invalid="ignore"):
            cut = (np.abs(rim_xy - middles[:, None]) <= box).all(axis=2).any(axis=1)
        asked, middles = asked[~cut], middles[~cut]
        left, up, out = axes(*panel)
        x, y = np.moveaxis(middles[:, None] + lattice, -1, 0)[..., None]
        probes = x * left + y * up + out
        probes /= np.linalg.norm(probes, axis=-1, keepdims=True)
        lost = ~in_panel(probes.reshape(-1, 3), panel, half, slack=1e-10).reshape(x.shape[:2])
        lost[lost] = in_parts(probes[lost], parts) if lost.any() else False
        served[asked] = ~lost.any(axis=1)
    return points[~served]
