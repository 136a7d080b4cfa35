"""The parts beside the sky on the page Compose: finding, region, panels, camera, print."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from planner.files.user_table.angle_form import DEC_FORM, RA_FORM
from planner.request.region import JOINS, LEVELS
from planner.request.request import Request
from planner.rig.print_size import USUAL_PPI
from planner.session.forms import FORMS, convert_region, full_picture_edits

from .composing.around_part import around_part
from .composing.fit_part import fit_buttons, lay_out_button
from .composing.format_part import format_part, shares_words
from .composing.keep_part import keep_part, listed_words
from .composing.parts_list import add_part, parts_list
from .inputs.form import Input, plan_form
from .inputs.mirror import mirror
from .state import guarded, in_place, session, show_fault

if TYPE_CHECKING:
    from planner.answers.plan import Plan
    from planner.request.picture import Picture
    from planner.request.region import RegionRequest
    from planner.request.request import MosaicRequest, PictureRequest
    from planner.rig.camera import Camera

__all__ = ["camera_part", "panels_part", "print_part", "region_part"]

USUAL_LEVEL = "as catalogues say"
LEVEL_CHOICES = (USUAL_LEVEL, *LEVELS)
"""Levels of an object's outline; the first is what a plan without `level` means."""


def region_part(request: Request, plan: Plan) -> None:
    """Show what must be covered."""
    region = request.region
    with in_place():
        if region.outline is not None:
            st.caption(f"An outline of {len(region.outline)} corners: drag them on the sky.")
        parts_list(region)
    rows = [*_place_rows(region), *_object_rows(region), _margin_row(region)]
    plan_form("region", rows, "Apply to the whole region" if region.all_parts else "Apply")
    add_part()
    with in_place():
        fit_buttons(plan)
    with in_place():
        around_part(request)
    _form_part(plan)


def _place_rows(region: RegionRequest) -> list[list[Input]]:
    """Return where the region lies and how large it is, as far as it is a circle or a rectangle."""
    rows: list[list[Input]] = []
    if region.center is not None:
        ra, dec = RA_FORM.write(region.center[0])[0], DEC_FORM.write(region.center[1])[0]
        rows.append(
            [
                Input("region.center 0", "Right ascension", ra, "text", rest=region.center),
                Input("region.center 1", "Declination", dec, "text", rest=region.center),
            ]
        )
    if region.radius_deg is not None:
        rows.append([Input("region.radius_deg", "Radius (deg, to 35)", region.radius_deg, decimals=3)])
    if region.width_deg is not None:
        rows.append(
            [
                Input("region.width_deg", "Width (deg, to 70)", region.width_deg, decimals=3),
                Input("region.height_deg", "Height (deg, to 70)", region.height_deg, decimals=3),
            ]
        )
    return rows


def _object_rows(region: RegionRequest) -> list[list[Input]]:
    """Return which object of the catalogue the region is, and how much of it."""
    if region.object is None:
        return []
    sizes = region.size_arcmin or (None, None)
    level = region.level or USUAL_LEVEL
    return [
        [
            Input("region.object", "Object of the catalogue", region.object, "text"),
            Input("region.level", "Outline", level, "choice", options=LEVEL_CHOICES, default=USUAL_LEVEL),
        ],
        [
            Input("region.size_arcmin 0", "Long axis (arcmin)", sizes[0], decimals=1, rest=sizes),
            Input("region.size_arcmin 1", "Short axis (arcmin)", sizes[1], decimals=1, rest=sizes),
        ],
    ]


def _margin_row(region: RegionRequest) -> list[Input]:
    margin = Input(
        "region.margin_arcmin", "Margin all round (arcmin)", region.margin_arcmin, decimals=1, default=0.0
    )
    if region.all_parts:
        join = Input("region.join", "Between parts", region.join, "choice", options=JOINS, default="apart")
        return [join, margin]
    if region.width_deg is not None:
        turn = Input(
            "region.position_angle_deg", "Position angle (deg)", region.position_angle_deg, default=0.0
        )
        return [turn, margin]
    return [margin]


def _form_part(plan: Plan) -> None:
    if plan is None:
        return
    with st.form("region_form", border=False):
        left, right = st.columns([3, 2], vertical_alignment="bottom")
        left.selectbox("Make the region a", list(FORMS), key=mirror("region_form_wanted", FORMS[0], "choice"))
        right.form_submit_button("Change", on_click=_change_form, args=(plan,))
    show_fault("region_form")


@guarded
def _change_form(plan: Plan) -> None:
    wanted = st.session_state["region_form_wanted"]
    session().edit("region_form", convert_region(plan, wanted), f"The region is now a {wanted}.")


def panels_part(request: Request) -> None:
    """Show how it is covered."""
    with in_place():
        if request.panels:
            st.info(listed_words(request))
            lay_out_button()
    keep_part()
    plan_form("panels", _layout_rows(request.mosaic))
    with st.expander("Errors of the mount", key="mount_expander"):
        plan_form("mount", _error_rows(request.mosaic))


def _layout_rows(asked: MosaicRequest) -> list[list[Input]]:
    return [
        [
            Input("mosaic.overlap", "Overlap (above 0, to 0.9)", asked.overlap, default=None),
            Input("mosaic.overlap_arcmin", "Or overlap in arcmin", asked.overlap_arcmin, decimals=1),
        ],
        [
            Input(
                "mosaic.angles",
                "Camera angles",
                asked.angles,
                "choice",
                options=_angles(asked.angles),
                default=1,
                help="1: one angle for all panels; 2 and more: so many angles, each set once; "
                "per_panel: each panel square with the picture",
            ),
            Input(
                "mosaic.layout",
                "Layout",
                asked.layout,
                "choice",
                options=["free", "sliding", "grid"],
                default="free",
                help="free: panels anywhere; sliding: rows that shift freely; grid: equal columns and rows",
            ),
        ],
        [
            Input("mosaic.columns", "Columns of panels", asked.columns, "whole"),
            Input("mosaic.rows", "Rows of panels", asked.rows, "whole"),
        ],
    ]


def _error_rows(asked: MosaicRequest) -> list[list[Input]]:
    return [
        [
            Input(
                "mosaic.pointing_error_arcmin", "Pointing off by up to (arcmin)", asked.pointing_error_arcmin
            ),
            Input("mosaic.angle_error_deg", "Angle off by up to (deg)", asked.angle_error_deg),
        ],
        [
            Input("mosaic.dither_arcmin", "Dither by up to (arcmin)", asked.dither_arcmin),
            Input(
                "mosaic.least_overlap_arcmin",
                "Overlap to keep despite these errors (arcmin)",
                asked.least_overlap_arcmin,
            ),
        ],
    ]


def _angles(present: str | int) -> list[str | int]:
    choices: list[str | int] = [1, 2, 3, 4, "per_panel"]
    return choices if present in choices else [*choices, present]


def camera_part(request: Request) -> None:
    """Show the equipment."""
    camera = request.camera
    plan_form("camera", _camera_rows(camera))
    field = camera.field
    st.caption(
        f"Field of view {field.width_deg:.3f} x {field.height_deg:.3f} degrees, "
        f"{camera.scale_arcsec_px:.3f} arc seconds a pixel"
    )


def _camera_rows(camera: Camera) -> list[list[Input]]:
    sensor, usable = camera.sensor_px, camera.usable
    return [
        [
            Input("camera.focal_length_mm", "Focal length (mm)", camera.focal_length_mm, decimals=1),
            Input("camera.aperture_mm", "Aperture (mm)", camera.aperture_mm, decimals=1),
        ],
        [
            Input("camera.sensor_px 0", "Sensor columns (pixels)", sensor[0], "whole", rest=sensor),
            Input("camera.sensor_px 1", "Sensor rows (pixels)", sensor[1], "whole", rest=sensor),
        ],
        [
            Input("camera.pixel_um", "Size of a pixel (µm)", camera.pixel_um),
            Input("camera.binning", "Binning (1 to 64)", camera.binning, "whole", default=1),
        ],
        [
            Input("camera.usable 0", "Usable part of width (to 1)", usable[0], rest=usable),
            Input("camera.usable 1", "Usable part of height (to 1)", usable[1], rest=usable),
        ],
    ]


def print_part(request: Request, plan: Plan) -> None:
    """Show the finished print."""
    asked = request.picture
    format_part(request)
    plan_form("print", _print_rows(asked))
    filled = asked is not None and asked.filled
    st.toggle(
        "Panels cover the whole picture",
        key=mirror("picture_filled", filled),
        on_change=_change_filled,
        help="Not just the region in it: no corner of the print stays empty.",
    )
    show_fault("picture_filled")
    if plan is not None:
        shares_words(plan)
        _print_words(request, plan)
        _full_picture_part(plan)


def _print_rows(asked: PictureRequest | None) -> list[list[Input]]:
    aspect = asked.aspect if asked and asked.aspect else (None, None)
    angle_deg = asked.position_angle_deg if asked else None
    width_cm, ppi = (asked.print_width_cm, asked.print_ppi) if asked else (None, USUAL_PPI)
    return [
        [
            Input("picture.aspect 0", "Proportions: width", aspect[0], decimals=1, rest=aspect),
            Input("picture.aspect 1", "to height", aspect[1], decimals=1, rest=aspect),
        ],
        [Input("picture.position_angle_deg", "Position angle of the picture's up (deg)", angle_deg)],
        [
            Input("picture.print_width_cm", "Width of the print (cm)", width_cm, decimals=1),
            Input("picture.print_ppi", "Pixels an inch", ppi, decimals=0, default=USUAL_PPI),
        ],
    ]


@guarded
def _change_filled() -> None:
    filled = bool(st.session_state["picture_filled"])
    words = "Panels cover the whole picture now." if filled else "Panels cover the region now."
    session().edit("picture_filled", {"picture.filled": True if filled else None}, words)


def _full_picture_part(plan: Plan) -> None:
    """Tell the largest picture without an empty corner, and make it the picture with one press."""
    full = getattr(plan, "full_picture", None)
    if full is None:
        return
    one = session().instrument
    scale = f" of {one.name}" if one is not None else ""
    texts = [f"Largest full picture{scale}: {_full_words(full.picture)}"]
    if full.turned is not None:
        texts.append(f"at position angle {full.turned.position_angle_deg:.1f}: {_full_words(full.turned)}")
    st.caption("  \n".join(texts))
    st.button(
        "Make it the picture",
        on_click=_take_full_picture,
        args=(plan,),
        help="The region becomes that rectangle; undo brings back what was.",
    )
    show_fault("full_picture")


def _full_words(picture: Picture) -> str:
    return (
        f"{picture.width_deg:.2f} x {picture.height_deg:.2f} degrees, "
        f"{picture.pixels[0]:,} x {picture.pixels[1]:,} pixels"
    )


@guarded
def _take_full_picture(plan: Plan) -> None:
    session().edit("full_picture", full_picture_edits(plan), "The largest full picture is the picture now.")


def _print_words(request: Request, plan: Plan) -> None:
    from planner.rig.print_detail import largest_prints
    from planner.rig.print_size import print_ppi

    pixels, asked = plan.picture.pixels, request.picture
    shared = session().shared
    scale = f" at the scale of {shared.finest.name}" if shared is not None else ""
    lines = [f"{pixels[0]:,} x {pixels[1]:,} pixels{scale}, {pixels[0] * pixels[1] / 1e6:.0f} megapixels"]
    for one in largest_prints(pixels, asked.print_ppi if asked else USUAL_PPI):
        fills = f", fills {one.sheet}" if one.sheet else ""
        lines.append(f"At {one.ppi:.0f} pixels an inch: {one.width_cm:.0f} x {one.height_cm:.0f} cm{fills}")
    if asked and asked.print_width_cm:
        found = print_ppi(pixels[0], asked.print_width_cm)
        lines.append(f"Printed {asked.print_width_cm:g} cm wide: {found:.0f} pixels an inch")
    st.caption("  \n".join(lines))
