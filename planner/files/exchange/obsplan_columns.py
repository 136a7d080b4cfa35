"""Columns of the table of planned observations: those of the standard, and a few of our own."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["OBSPLAN_COLUMNS", "OWN_COLUMNS", "ObsplanColumn"]


@dataclass(frozen=True)
class ObsplanColumn:
    """One column of a VOTable.

    Parameters
    ----------
    name : str
    datatype : str
        Of VOTable; ``text`` becomes char, or unicodeChar where a cell needs it.
    unit, ucd : str
        Empty where the standard gives none.
    meaning : str
    """

    name: str
    datatype: str
    unit: str
    ucd: str
    meaning: str


OBSPLAN_COLUMNS = (
    ObsplanColumn("t_planning", "double", "d", "", "when the observation entered the plan (MJD)"),
    ObsplanColumn("target_name", "text", "", "meta.id;src", "title of the plan and name of the panel"),
    ObsplanColumn("obs_id", "text", "", "meta.id", "title, panel and filter: unique in this table"),
    ObsplanColumn("obs_collection", "text", "", "meta.id", "title of the plan"),
    ObsplanColumn("s_ra", "double", "deg", "pos.eq.ra", "right ascension of the panel's centre, ICRS"),
    ObsplanColumn("s_dec", "double", "deg", "pos.eq.dec", "declination of the panel's centre, ICRS"),
    ObsplanColumn("s_fov", "double", "deg", "phys.angSize;instr.fov", "diagonal of the usable field of view"),
    ObsplanColumn("s_region", "polygon", "", "pos.outline;obs.field", "corners of the usable field, ICRS"),
    ObsplanColumn("s_resolution", "double", "arcsec", "pos.angResolution", "not known before the night"),
    ObsplanColumn("t_min", "double", "d", "time.start;obs.exposure", "start (MJD); not fixed by a plan"),
    ObsplanColumn("t_max", "double", "d", "time.end;obs.exposure", "end (MJD); not fixed by a plan"),
    ObsplanColumn("t_exptime", "double", "s", "time.duration;obs.exposure", "all exposures together"),
    ObsplanColumn("t_resolution", "double", "s", "time.resolution", "one exposure"),
    ObsplanColumn("em_min", "double", "m", "em.wl;stat.min", "shortest wavelength; filters do not state it"),
    ObsplanColumn("em_max", "double", "m", "em.wl;stat.max", "longest wavelength; filters do not state it"),
    ObsplanColumn("em_res_power", "double", "", "spect.resolution", "none: no spectra are taken"),
    ObsplanColumn("o_ucd", "text", "", "meta.ucd", "what is measured"),
    ObsplanColumn("pol_states", "text", "", "meta.code;phys.polarization", "none"),
    ObsplanColumn("pol_xel", "int", "", "meta.number", "number of polarisation states: none"),
    ObsplanColumn("facility_name", "text", "", "meta.id;instr.tel", "site"),
    ObsplanColumn("instrument_name", "text", "", "meta.id;instr", "camera, by its numbers"),
    ObsplanColumn("t_plan_exptime", "double", "s", "time.duration;obs.exposure", "as planned"),
    ObsplanColumn("category", "text", "", "", "Window where the plan has nights, otherwise Other"),
    ObsplanColumn("priority", "int", "", "", "1 for all: the plan has no ranks"),
    ObsplanColumn("execution_status", "text", "", "", "Planned"),
    ObsplanColumn("tracking_type", "text", "", "", "Sidereal"),
)
"""IVOA recommendation ObsLocTAP 1.0 (2021-07-24), section 3: names, units, UCDs and order."""

OWN_COLUMNS = (
    ObsplanColumn("position_angle", "double", "deg", "pos.posAng", "of the frame's up, east of north"),
    ObsplanColumn("panel", "text", "", "meta.id.part", "name of the panel"),
    ObsplanColumn("shooting_order", "int", "", "meta.number", "place in the shooting order, from 1"),
    ObsplanColumn("filter_name", "text", "", "meta.id;instr.filter", "filter"),
    ObsplanColumn("exposure", "double", "s", "time.duration;obs.exposure", "one exposure"),
    ObsplanColumn("exposures", "int", "", "meta.number;obs.exposure", "number of exposures"),
    ObsplanColumn("reading_deg", "double", "deg", "pos.posAng;instr.setup", "reading of the angle device"),
)
"""What the standard has no column for."""
