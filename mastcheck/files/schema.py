"""The mast file as pydantic types: keys, units and ranges. Nothing past the door sees these.

Values arrive in SI units. Rules that join several keys live in ``rules.py`` and beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from mastcheck.files.fields import (
    choice,
    cycles_by_case,
    detail_category,
    laminate_code,
    number,
    one_of,
    outline_file,
    quantity,
    quantity_or_list,
    text,
    whole,
    words,
    zones,
)
from mastcheck.files.joint_schema import AdapterTable, BaseJointTable, BoltsTable, TipJointTable
from mastcheck.files.tables import Table as Table
from mastcheck.files.tolerance_schema import TolerancesTable
from mastcheck.files.water_schema import ConditionsTable, FoilTable, WingTable, price_text
from mastcheck.limit import Quantity
from mastcheck.mast import Construction, OutlineKind, Zone
from mastcheck.outline import MODIFIED
from mastcheck.units import Dimension

OUTLINE_WORDS = (*(str(kind) for kind in OutlineKind), MODIFIED)


class OneOrMore:
    """Schema of a table that may also be a list of such tables."""

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """One item or the array of them."""
        array = handler(core)
        return {"anyOf": [array["items"], array]}


def as_list(value: object) -> object:
    """What stands alone, a table where all is well, as a list of one."""
    return value if isinstance(value, list) else [value]


_WALL = quantity(Dimension.LENGTH, "0.1 mm", "500 mm")
_STRESS = quantity(Dimension.STRESS, "0.01 MPa", "20 GPa")
_MODULUS = quantity(Dimension.STRESS, "0.1 MPa", "2000 GPa")
_DENSITY = quantity(Dimension.DENSITY, "1 kg/m3", "25000 kg/m3")
_OFFSET = quantity(Dimension.LENGTH, "-2 m", "2 m")
_FORCE = quantity(Dimension.FORCE, "-100 kN", "100 kN")
_MOMENT = quantity(Dimension.MOMENT, "-100 kN m", "100 kN m")
_DEFLECTION = quantity(Dimension.LENGTH, "0.001 mm", "10 m")
_ROTATION = quantity(Dimension.ANGLE, "0.001 deg", "180 deg")
_FRACTION = number(0.0, 1.0)
_KNOCK_DOWN = number(0.1, 1.0)
_GAMMA = number(1.0, 10.0)
_CYCLES = number(1.0, 1e10)
_BENCH_FACTOR = number(0.05, 5.0)
_NAME = text(80)
_PRICE = price_text()
_LINE = text(500)


class WallPointTable(Table):
    """A wall at a fraction of the chord; linear between such points, constant beyond them."""

    at: Annotated[float, *_FRACTION]
    wall: Annotated[float, *_WALL]


class QuantityOrPoints:
    """Schema of a wall: one quantity, or the list of points."""

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """One quantity or the array."""
        return {"anyOf": [_WALL[1].json_schema, handler(core)]}


def as_points(value: object) -> object:
    """A lone wall as a list of one point."""
    return value if isinstance(value, list | Mapping) else [{"at": 0.0, "wall": value}]


WallLaw = Annotated[list[WallPointTable], BeforeValidator(as_points), QuantityOrPoints()]
OutlineWord = Annotated[str, *one_of(*OUTLINE_WORDS)]
OutlineFile = Annotated[str, *outline_file()]


class StationTable(Table):
    """Sizes at a fraction of the length, base to tip.

    Chord and thickness may be left out, both, where the outline is a drawing: then as drawn.
    """

    at: Annotated[float, *_FRACTION]
    chord: Annotated[float, *quantity(Dimension.LENGTH, "10 mm", "1 m")] | None = None
    thickness: Annotated[float, *quantity(Dimension.LENGTH, "1 mm", "1 m")] | None = None
    wall: WallLaw | None = None
    wall_port: WallLaw | None = None
    wall_starboard: WallLaw | None = None
    outline: OutlineWord | None = None
    file: OutlineFile | None = None


class MastTable(Table):
    """Name, length and stations."""

    name: Annotated[str, *_NAME]
    length: Annotated[float, *quantity(Dimension.LENGTH, "50 mm", "10 m")]
    note: Annotated[str, *_LINE] | None = None
    price: Annotated[tuple[float, str], *_PRICE] | None = None
    taper_about: Annotated[float, *_FRACTION] = 0.5
    tip_warping: Annotated[Literal["free", "restrained"], words("free", "restrained")] = "free"
    station: Annotated[list[StationTable], Field(json_schema_extra={"minItems": 2})]


class WebTable(Table):
    """A web across the hollow or the core; ``at`` is the chord fraction where it meets the chord line.

    ``lean`` is positive with the port end aft. The thickness is left out where plies have the region
    "webs".
    """

    at: Annotated[float, *number(0.01, 0.99)]
    thickness: Annotated[float, *_WALL] | None = None
    lean: Annotated[float, *quantity(Dimension.ANGLE, "-60 deg", "60 deg")] = 0.0


class ChannelTable(Table):
    """A round hole along the mast for a screw; ``boss`` is the outer diameter of the material around it.

    ``offset`` is its place off the chord line, to port.
    """

    at: Annotated[float, *number(0.01, 0.99)]
    bore: Annotated[float, *quantity(Dimension.LENGTH, "0.5 mm", "200 mm")]
    boss: Annotated[float, *quantity(Dimension.LENGTH, "0.5 mm", "200 mm")] | None = None
    offset: Annotated[float, *quantity(Dimension.LENGTH, "-200 mm", "200 mm")] = 0.0
    material: Annotated[str, *_NAME] | None = None


class PlyTable(Table):
    """A ply of the skin or the webs, from the outside in; exactly one of ``angle`` and ``layup``."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["angle"]}, {"required": ["layup"]}]},
    )

    material: Annotated[str, *_NAME]
    angle: Annotated[float, *quantity(Dimension.ANGLE, "-90 deg", "90 deg")] | None = None
    layup: Annotated[tuple[float, ...], *laminate_code()] | None = None
    thickness: Annotated[
        float | tuple[float, ...], *quantity_or_list(Dimension.LENGTH, "0.01 mm", "20 mm", "0 mm")
    ]
    count: Annotated[int, *whole(1, 400)] = 1
    region: Annotated[tuple[Zone, ...], *zones()] = (Zone.NOSE, Zone.FACES, Zone.TAIL)


class KnockDownTable(Table):
    """Factors on ply strengths; those given are multiplied."""

    wet: Annotated[float, *_KNOCK_DOWN] | None = None
    hot: Annotated[float, *_KNOCK_DOWN] | None = None
    hand_laid: Annotated[float, *_KNOCK_DOWN] | None = None


class SectionTable(Table):
    """The outline and what fills it; exactly one of ``outline`` and ``file``.

    ``material`` and the walls are left out where plies are given.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "allOf": [
                {"oneOf": [{"required": ["outline"]}, {"required": ["file"]}]},
                {"anyOf": [{"required": ["material"]}, {"required": ["ply"]}]},
            ]
        },
    )

    outline: OutlineWord | None = None
    nose_index: Annotated[float, *number(0.0, 9.0)] = 6.0
    greatest_thickness_at: Annotated[float, *number(0.2, 0.6)] = 0.3
    file: OutlineFile | None = None
    unit: Annotated[Literal["mm", "cm", "m", "in", "ft"], words("mm", "cm", "m", "in", "ft")] | None = (
        None
    )
    nose: Annotated[Literal["left", "right", "up", "down"], words("left", "right", "up", "down")] = (
        "left"
    )
    gap_tolerance: Annotated[float, *quantity(Dimension.LENGTH, "0.0001 mm", "1 mm")] = 1e-5
    chord_error: Annotated[float, *quantity(Dimension.LENGTH, "0.0005 mm", "0.5 mm")] = 5e-6
    layers: dict[Annotated[str, *text(255)], Annotated[str, *_NAME]] = {}
    construction: Annotated[Construction, choice(Construction)]
    material: Annotated[str, *_NAME] | None = None
    core: Annotated[str, *_NAME] | None = None
    wall: WallLaw | None = None
    wall_port: WallLaw | None = None
    wall_starboard: WallLaw | None = None
    trailing_edge_radius: Annotated[float, *quantity(Dimension.LENGTH, "0 mm", "100 mm")] = 0.0
    trailing_edge_thickness: Annotated[float, *quantity(Dimension.LENGTH, "0 mm", "200 mm")] = 0.0
    nose_solid_to: Annotated[float, *_FRACTION] = 0.0
    tail_solid_from: Annotated[float, *_FRACTION] = 1.0
    webs: list[WebTable] = []
    channels: list[ChannelTable] = []
    ply: list[PlyTable] = []
    symmetric_plies: Annotated[bool, Field(strict=True)] = False
    repeat_plies: Annotated[int, *whole(1, 400)] = 1
    nose_to: Annotated[float, *number(0.01, 0.99)] = 0.10
    tail_from: Annotated[float, *number(0.01, 0.99)] = 0.85
    knock_down: KnockDownTable = KnockDownTable()


class RiderTable(Table):
    """Rider and gear."""

    mass: Annotated[float, *quantity(Dimension.MASS, "10 kg", "300 kg")] = 80.0
    gear_mass: Annotated[float, *quantity(Dimension.MASS, "0 kg", "200 kg")] = 8.0
    rider_height: Annotated[float, *quantity(Dimension.LENGTH, "0.1 m", "3 m")] = 1.0
    stance_width: Annotated[float, *quantity(Dimension.LENGTH, "0 m", "2 m")] = 0.45


class LengthLimitTable(Table):
    """Largest deflection in a named case."""

    case: Annotated[str, *_NAME]
    max: Annotated[float, *_DEFLECTION]


class AngleLimitTable(Table):
    """Largest rotation in a named case."""

    case: Annotated[str, *_NAME]
    max: Annotated[float, *_ROTATION]


LengthLimits = Annotated[list[LengthLimitTable], BeforeValidator(as_list), OneOrMore()]
AngleLimits = Annotated[list[AngleLimitTable], BeforeValidator(as_list), OneOrMore()]


class LimitsTable(Table):
    """Limits at the tip, absolute values; each one table or a list of them.

    ``divergence_margin``: least divergence speed over the fastest speed. ``edge_radius``: least radius
    of leading and trailing edge.
    """

    side_deflection: LengthLimits = []
    fore_aft_deflection: LengthLimits = []
    roll: AngleLimits = []
    pitch: AngleLimits = []
    twist: AngleLimits = []
    divergence_margin: Annotated[float, *number(1.0, 10.0)] | None = None
    edge_radius: Annotated[float, *quantity(Dimension.LENGTH, "0.1 mm", "10 mm")] | None = None


class MaterialTable(Table):
    """A material of the file's own; exactly one of ``G`` and ``nu``."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["G"]}, {"required": ["nu"]}]},
    )

    E: Annotated[float, *_MODULUS]
    G: Annotated[float, *_MODULUS] | None = None
    nu: Annotated[float, *number(-1.0, 0.5, above=True)] | None = None
    density: Annotated[float, *_DENSITY]
    source: Annotated[str, *_LINE]
    proof_strength: Annotated[float, *_STRESS] | None = None
    ultimate_strength: Annotated[float, *_STRESS] | None = None
    gamma_proof: Annotated[float, *_GAMMA] = 1.10
    gamma_ultimate: Annotated[float, *_GAMMA] = 1.25
    shear_strength: Annotated[float, *_STRESS] | None = None
    galvanic_group: Annotated[str, *_NAME] = ""
    note: Annotated[str, *_LINE] = ""


class LaminaTable(Table):
    """A cured ply of the file's own: 1 along the fibres (warp), 2 across; all five strengths or none."""

    E1: Annotated[float, *_MODULUS]
    E2: Annotated[float, *_MODULUS]
    G12: Annotated[float, *_MODULUS]
    nu12: Annotated[float, *number(-2.0, 2.0)]
    density: Annotated[float, *_DENSITY]
    source: Annotated[str, *_LINE]
    Xt: Annotated[float, *_STRESS] | None = None
    Xc: Annotated[float, *_STRESS] | None = None
    Yt: Annotated[float, *_STRESS] | None = None
    Yc: Annotated[float, *_STRESS] | None = None
    S12: Annotated[float, *_STRESS] | None = None
    gamma: Annotated[float, *_GAMMA] = 2.0
    galvanic_group: Annotated[str, *_NAME] = ""
    note: Annotated[str, *_LINE] = ""


class LoadCaseTable(Table):
    """A load case. With a standard name, keys left out keep the standard values."""

    name: Annotated[str, *_NAME]
    n: Annotated[float, *number(-20.0, 20.0)] = 0.0
    offset: Annotated[float, *_OFFSET] = 0.0
    roll_offset: Annotated[float, *_OFFSET] = 0.0
    side_force: Annotated[float, *number(-20.0, 20.0)] = 0.0
    side_spread: Annotated[bool, Field(strict=True)] = False
    feet_twist: Annotated[float, *number(-20.0, 20.0)] = 0.0
    force: tuple[Annotated[float, *_FORCE], Annotated[float, *_FORCE], Annotated[float, *_FORCE]] = (
        0.0,
        0.0,
        0.0,
    )
    moment: tuple[Annotated[float, *_MOMENT], Annotated[float, *_MOMENT], Annotated[float, *_MOMENT]] = (
        0.0,
        0.0,
        0.0,
    )
    lift: Annotated[
        Literal["through-rider", "dead", "follower"], words("through-rider", "dead", "follower")
    ] = "dead"
    strength_factor: Annotated[float, *number(0.0, 10.0, above=True)] = 1.5


class FatigueTable(Table):
    """Cycles to bear, by load case; the curve is a detail category or one of the file's own."""

    cycles: Annotated[dict[Annotated[str, *_NAME], Annotated[float, *_CYCLES]], *cycles_by_case()]
    detail: Annotated[str, *detail_category()] | None = None
    delta_sigma_c: Annotated[float, *_STRESS] | None = None
    m1: Annotated[float, *number(1.0, 50.0)] | None = None
    m2: Annotated[float, *number(1.0, 50.0)] | None = None
    gamma: Annotated[float, *_GAMMA] | None = None
    material: Annotated[str, *_NAME] | None = None
    source: Annotated[str, *_LINE] | None = None
    alternating: Annotated[bool, Field(strict=True)] = True


class CalibrationTable(Table):
    """Stiffness of the blade over the calculated one, from a bench; strength and mass stay."""

    factor_EI_side: Annotated[float, *_BENCH_FACTOR] = 1.0
    factor_EI_fore_aft: Annotated[float, *_BENCH_FACTOR] = 1.0
    factor_GJ: Annotated[float, *_BENCH_FACTOR] = 1.0
    source: Annotated[str, *_LINE]


class MastFile(Table):
    """The whole mast file."""

    model_config = ConfigDict(title="mastcheck mast file")

    mast: MastTable
    section: SectionTable
    rider: RiderTable = RiderTable()
    conditions: ConditionsTable = ConditionsTable()
    foil: FoilTable | None = None
    wing: list[WingTable] = []
    limits: LimitsTable = LimitsTable()
    material: dict[Annotated[str, *_NAME], MaterialTable] = {}
    lamina: dict[Annotated[str, *_NAME], LaminaTable] = {}
    load_case: list[LoadCaseTable] = []
    fatigue: FatigueTable | None = None
    base_joint: BaseJointTable | None = None
    tip_joint: TipJointTable | None = None
    adapter: list[AdapterTable] = []
    calibration: CalibrationTable | None = None
    tolerances: TolerancesTable | None = None


_WALL_KEYS = ("wall", "wall_port", "wall_starboard")

# Tables by key path, list places and the names of materials and laminas left out: for hints on
# unknown keys.
TABLES: dict[tuple[str, ...], type[Table]] = {
    (): MastFile,
    ("mast",): MastTable,
    ("mast", "station"): StationTable,
    **{("mast", "station", key): WallPointTable for key in _WALL_KEYS},
    ("section",): SectionTable,
    **{("section", key): WallPointTable for key in _WALL_KEYS},
    ("section", "webs"): WebTable,
    ("section", "channels"): ChannelTable,
    ("section", "ply"): PlyTable,
    ("section", "knock_down"): KnockDownTable,
    ("rider",): RiderTable,
    ("conditions",): ConditionsTable,
    ("foil",): FoilTable,
    ("wing",): WingTable,
    ("limits",): LimitsTable,
    **{("limits", q.value): LengthLimitTable if q.is_length else AngleLimitTable for q in Quantity},
    ("material",): MaterialTable,
    ("lamina",): LaminaTable,
    ("load_case",): LoadCaseTable,
    ("fatigue",): FatigueTable,
    ("calibration",): CalibrationTable,
    ("tolerances",): TolerancesTable,
    ("base_joint",): BaseJointTable,
    ("tip_joint",): TipJointTable,
    ("adapter",): AdapterTable,
    **{(joint, "bolts"): BoltsTable for joint in ("base_joint", "tip_joint", "adapter")},
}
