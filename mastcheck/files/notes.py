"""What a mast file leaves to be assumed, in words that every result prints."""

from __future__ import annotations

from collections.abc import Iterator

from mastcheck.drawn import Drawing
from mastcheck.files import foil_rules, water_build
from mastcheck.files.materials import laminas, library
from mastcheck.files.outline_files import OutlineFiles
from mastcheck.files.ply_rules import SKIN, STRENGTHS
from mastcheck.files.schema import LaminaTable, MastFile, MaterialTable, StationTable
from mastcheck.strength.fatigue import GAMMA


def notes(model: MastFile, files: OutlineFiles) -> Iterator[str]:
    """The file's own note, and what was assumed where it is silent."""
    if model.mast.note:
        yield f"the file says: {model.mast.note}"
    yield from _rider(model)
    if water_build.conditions(model).ride_height is None and (
        "wet_fraction" not in model.conditions.model_fields_set
    ):
        yield f"wet fraction {model.conditions.wet_fraction:g} assumed: the file does not state it"
    if "taper_about" not in model.mast.model_fields_set:
        yield "stations stacked about mid-chord (taper_about 0.5) assumed: the file does not state it"
    if "tip_warping" not in model.mast.model_fields_set:
        yield "tip free to warp assumed: the file does not state it"
    yield from foil_rules.notes(model)
    yield from water_build.notes(model)
    yield from _drawings(model, files)
    yield from _plies(model)
    yield from _materials(model)
    yield from _laminas(model)
    yield from _fatigue(model)
    yield from _calibration(model)


def _rider(model: MastFile) -> Iterator[str]:
    silent = "rider" not in model.model_fields_set
    rider, place = model.rider, "the file has no [rider]"
    for key, words in (
        ("mass", f"rider mass {rider.mass:g} kg"),
        ("gear_mass", f"gear mass {rider.gear_mass:g} kg"),
        ("rider_height", f"rider's centre of mass {rider.rider_height:g} m above the base"),
        ("stance_width", f"stance width {rider.stance_width:g} m"),
    ):
        if silent or key not in rider.model_fields_set:
            yield f"{words} assumed: {place if silent else f'[rider] has no {key}'}"


def _drawings(model: MastFile, files: OutlineFiles) -> Iterator[str]:
    """Sizes taken from drawings, and how drawings were read."""
    section = model.section
    used = False
    for station in model.mast.station:
        name = station.file or (None if station.outline else section.file)
        drawing = files.by_name.get(name) if name else None
        if isinstance(drawing, Drawing):
            used = True
            yield _size(station, str(name), drawing)
    if not used:
        return
    yield from _told_layers(model)
    for name, drawing in files.by_name.items():
        if isinstance(drawing, Drawing):
            yield from _untold_layers(model, name, drawing)
    if section.unit is not None:
        yield f"drawings that state no unit are taken in {section.unit}, as the mast file says"
    stated = section.model_fields_set
    if "nose" not in stated:
        yield "the leading edge is on the left of the drawing (nose) assumed: the file does not state it"
    for key, words in (
        ("chord_error", f"curves of drawings flattened within {section.chord_error * 1e3:g} mm"),
        ("gap_tolerance", f"gaps in drawings up to {section.gap_tolerance * 1e3:g} mm closed"),
    ):
        if key not in stated:
            yield f"{words}: assumed, the file does not state {key}"


def _told_layers(model: MastFile) -> Iterator[str]:
    """Layers whose filling the file states."""
    for layer, word in model.section.layers.items():
        filling = {"void": "a void", "ignore": "left out"}.get(word, word)
        yield f'layer "{layer}" of drawings: {filling}, as [section.layers] says'


def _size(station: StationTable, name: str, drawing: Drawing) -> str:
    """Size as drawn, or the scale in each direction."""
    at = f"station at {station.at:g}"
    drawn = f"{drawing.chord * 1e3:.6g} x {drawing.thickness * 1e3:.6g} mm"
    if station.chord is None or station.thickness is None:
        return f"{at}: drawn size of {name}, {drawn}"
    along, across = station.chord / drawing.chord, station.thickness / drawing.thickness
    if abs(along - 1) < 1e-6 and abs(across - 1) < 1e-6:
        return f"{at}: {name} as drawn, {drawn}"
    return (
        f"{at}: {name}, drawn {drawn}, scaled by {along:.4g} along the chord and {across:.4g} across it"
        " (its walls with it)"
    )


def _untold_layers(model: MastFile, name: str, drawing: Drawing) -> Iterator[str]:
    """Layers that say nothing of their filling, and what they were taken for."""
    told = {layer.casefold() for layer in model.section.layers}
    for loop in drawing.loops[1:]:
        if loop.layer.casefold() not in told:
            told.add(loop.layer.casefold())
            filling = "a void" if loop.fill is None else loop.fill.name
            yield f'layer "{loop.layer}" of {name}: taken for {filling}, as [section.layers] is silent'


def _plies(model: MastFile) -> Iterator[str]:
    """Knock-downs, and the bounds of the zones."""
    section = model.section
    if not section.ply:
        return
    given = {key.replace("_", "-"): f for key, f in section.knock_down if f is not None}
    for key, factor in given.items():
        yield f"ply strengths multiplied by {factor:g} ({key} knock-down, as the file states)"
    if not given:
        yield "no knock-down on ply strengths (wet, hot, hand-laid): the file states none"
    silent = {"nose_to", "tail_from"} - section.model_fields_set
    zoned = any(not set(SKIN) <= set(ply.region) for ply in section.ply)
    if silent and zoned:
        yield (
            f"nose plies to {section.nose_to:g} and tail plies from {section.tail_from:g} of the chord"
            " assumed: the file does not state both"
        )


def _materials(model: MastFile) -> Iterator[str]:
    shipped = library()
    for name, table in model.material.items():
        if name in shipped:
            yield f"material {name}: the file's own figures replace the shipped ones"
        if table.proof_strength is not None and "gamma_proof" not in table.model_fields_set:
            yield f"material {name}: partial factor {table.gamma_proof:g} on proof strength assumed"
        elif table.shear_strength is not None and "gamma_proof" not in table.model_fields_set:
            yield f"material {name}: partial factor {table.gamma_proof:g} on shear strength assumed"
        if table.ultimate_strength is not None and "gamma_ultimate" not in table.model_fields_set:
            factor = f"partial factor {table.gamma_ultimate:g} on ultimate strength"
            yield f"material {name}: {factor} assumed"
        if table.proof_strength is None and table.ultimate_strength is not None:
            yield f"material {name}: strength is not judged without a proof_strength"
        yield from _said(f"material {name}", table)


def _laminas(model: MastFile) -> Iterator[str]:
    shipped = laminas()
    for name, table in model.lamina.items():
        if name in shipped:
            yield f"lamina {name}: the file's own figures replace the shipped ones"
        if any(getattr(table, key) is None for key in STRENGTHS):
            yield f"lamina {name}: no strengths stated; strength is reported, not judged"
        elif "gamma" not in table.model_fields_set:
            yield f"lamina {name}: partial factor {table.gamma:g} on its strengths assumed"
        yield from _said(f"lamina {name}", table)


def _said(what: str, table: MaterialTable | LaminaTable) -> Iterator[str]:
    """What a material's own words say and nothing is computed from."""
    from mastcheck.checks.galvanic import is_known

    if table.note:
        yield f"{what}: the file says: {table.note}"
    if table.galvanic_group and not is_known(table.galvanic_group):
        yield f"{what}: galvanic group {table.galvanic_group}, which is none of the series"


def _fatigue(model: MastFile) -> Iterator[str]:
    """How a cycle is taken, and what was assumed of its curve."""
    table = model.fatigue
    if table is None:
        return
    how = "stated" if "alternating" in table.model_fields_set else "assumed: [fatigue] does not state it"
    states = (
        "the load case, no load, and the case with left and right changed about"
        if table.alternating
        else "the load case and no load"
    )
    yield f"fatigue: a cycle passes through {states} ({how}); service loads, second order"
    if table.detail is None and table.delta_sigma_c is None:
        yield "fatigue: no curve stated; the stress range is reported, not judged"
        return
    if table.gamma is None:
        yield (
            f"fatigue: partial factor {GAMMA:g} on the stress range assumed (EN 1993-1-9 Table 3.1, safe"
            " life, high consequence, from memory)"
        )
    if table.delta_sigma_c is not None and table.m2 is None:
        yield "fatigue: slope m2 = m1 + 2 beyond 5 million cycles assumed"
    yield "fatigue: no range is taken to be harmless (no cut-off), since the mast stands in water"


def _calibration(model: MastFile) -> Iterator[str]:
    """What a bench changed, and what it did not."""
    table = model.calibration
    if table is None:
        return
    factors = ", ".join(
        f"{name} x {factor:.4g}"
        for name, factor in (
            ("EI_side", table.factor_EI_side),
            ("EI_fore_aft", table.factor_EI_fore_aft),
            ("GJ", table.factor_GJ),
        )
    )
    yield f"stiffness calibrated on a bench: {factors} ({table.source})"
    yield (
        "the calibration changes movement alone; stresses and mass are those of the sizes stated. A"
        " blade softer than calculated may have thinner walls, and then less strength than stated here"
    )
