"""Colours of charts, light and dark, that colour-blind people can tell apart.

The colours are our own. Hues follow the advice of Okabe & Ito 2008, "Color Universal Design" (blue,
vermilion, bluish green and reddish purple stay apart); lightness is spread so that every pair also differs
under simulated protanopia, deuteranopia and tritanopia (tested), and lines differ by their dashes as well.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DARK", "LIGHT", "Palette"]


@dataclass(frozen=True)
class Palette:
    """Colours as ``#rrggbb``, and how strongly panels are filled.

    Parameters
    ----------
    paper, ink, muted : str
        Ground, text and stars, small print.
    grid, panel, panel_name, region, picture, sky_object, warning : str
        Graticule; panels, their names; the region; the picture; catalogue objects; what is not covered.
    emission, reflection, dark_nebula, remnant : str
        Tints of nebulae, and their names' and ellipses' colours.
    panel_alpha : float
        Opacity of one panel's fill; overlaps add up.
    """

    paper: str
    ink: str
    muted: str
    grid: str
    panel: str
    panel_name: str
    region: str
    picture: str
    sky_object: str
    warning: str
    emission: str
    reflection: str
    dark_nebula: str
    remnant: str
    panel_alpha: float


LIGHT = Palette(
    paper="#ffffff",
    ink="#1a1d21",
    muted="#545d68",
    grid="#b3bcc6",
    panel="#0f3a94",
    panel_name="#0b2a6e",
    region="#d14b08",
    picture="#05705f",
    sky_object="#b5459f",
    warning="#a50f15",
    emission="#b8446a",
    reflection="#3b74a8",
    dark_nebula="#6a6157",
    remnant="#557d2f",
    panel_alpha=0.11,
)

DARK = Palette(
    paper="#0d1117",
    ink="#e8eaee",
    muted="#9aa4b0",
    grid="#3d4752",
    panel="#5a92ff",
    panel_name="#bcd2ff",
    region="#ff8f45",
    picture="#36c598",
    sky_object="#d88ad0",
    warning="#ff6b6b",
    emission="#e0819c",
    reflection="#7fb2e0",
    dark_nebula="#a89c8c",
    remnant="#9cc46e",
    panel_alpha=0.17,
)
