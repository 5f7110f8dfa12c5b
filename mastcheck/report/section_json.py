"""The section file: ``mastcheck-section/1``, units in the key names, finite numbers only."""

from __future__ import annotations

import json
import math
from typing import Any

from mastcheck.checks.section import RegionShare, SectionResult
from mastcheck.report.json import _finite
from mastcheck.report.words import outline_words

SCHEMA_NAME = "mastcheck-section/1"


def section_json(result: SectionResult) -> str:
    """The section as JSON text, ending with a newline; what is not known is null.

    Places are from the stacking line, x aft and y to port, unless the key says from what. The same
    section gives the same bytes, so how long the solve took is left out.
    """
    job, station, p = result.job, result.station, result.model.properties
    whole = {
        "schema": SCHEMA_NAME,
        "name": job.mast.name,
        "file": job.file,
        "input_sha256": job.input_sha256,
        "length_m": job.mast.length,
        "at": result.at,
        "z_m": result.z,
        "outline": outline_words(station.outline or job.mast.section.outline),
        "construction": str(job.mast.section.construction),
        "chord_m": station.chord,
        "thickness_m": station.thickness,
        "width_as_built_m": result.width,
        "height_as_built_m": result.height,
        "leading_edge_x_m": result.leading_edge_x,
        "area_m2": p.area,
        "perimeter_m": result.perimeter,
        "properties": {
            "EA_N": p.EA,
            "EI_side_Nm2": p.EIxx,
            "EI_fore_aft_Nm2": p.EIyy,
            "EIxy_Nm2": p.EIxy,
            "GJ_Nm2": p.GJ,
            "EGamma_Nm4": p.EGamma,
            "shear_flexibility_xx_per_N": p.shear_flex_xx,
            "shear_flexibility_yy_per_N": p.shear_flex_yy,
            "shear_flexibility_xy_per_N": p.shear_flex_xy,
            "centroid_x_m": p.centroid_x,
            "centroid_y_m": p.centroid_y,
            "shear_centre_x_m": p.shear_centre_x,
            "shear_centre_y_m": p.shear_centre_y,
            "centroid_from_leading_edge_m": p.centroid_x - result.leading_edge_x,
            "shear_centre_from_leading_edge_m": p.shear_centre_x - result.leading_edge_x,
            "principal_EI_greatest_Nm2": result.principal.greatest,
            "principal_EI_least_Nm2": result.principal.least,
            "principal_angle_deg": math.degrees(result.principal.angle),
            "mass_per_length_kg_per_m": p.mass_per_length,
        },
        "geometry": None
        if (g := result.geometry) is None
        else {
            "area_m2": g.area,
            "Ixx_m4": g.Ixx,
            "Iyy_m4": g.Iyy,
            "J_m4": g.J,
            "Gamma_m6": g.Gamma,
        },
        "regions": [_region(share) for share in result.regions],
        "mesh_elements": result.model.elements,
        "notes": [
            {
                "name": n.name,
                "text": n.text,
                "basis": n.basis,
                "found": n.found,
                "practice": n.practice,
                "unit": n.unit,
                "beyond_practice": n.beyond,
            }
            for n in result.notes
        ],
        "assumptions": list(result.assumptions),
        "cautions": list(result.cautions),
    }
    return json.dumps(_finite(whole), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _region(share: RegionShare) -> dict[str, Any]:
    wall = share.membrane
    return {
        "material": share.material.name,
        "source": str(share.material.source),
        "area_m2": share.area,
        "E_Pa": share.material.E,
        "G_Pa": share.material.G,
        "mass_per_length_kg_per_m": share.mass_per_length,
        "mass_share": share.share,
        "layup": share.layup or None,
        "coupling": None if wall is None else wall.coupling,
        "unsymmetry": None if wall is None else wall.unsymmetry,
        "twist_ratio": None if wall is None else wall.twist_ratio,
    }
