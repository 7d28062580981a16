"""Weigh days that between them have everything the format knows, for tests that must hold on all of them. All
invented.
"""

from __future__ import annotations

PADS = "".join(
    f"""
[instruments.p{number}]
kind = "pad"
capacity = "20000 lb"
division = "10 lb"
height = "{height} in"
span_uncertainty = "0.1 %"
repeatability = "4 lb"
zero_uncertainty = "2 lb"
set = "case"
set_uncertainty = "0.05 %"
span = "{span} %"
"""
    for number, height, span in ((1, 2.5, 0.3), (2, 2.5, 0), (3, 1.5, -0.4), (4, 2.0, 0.1))
)

SCALE = """
[instruments.s1]
kind = "platform"
capacity = "6000 lb"
division = "5 lb"
"""

PLATE = SCALE.replace("6000", "4000")


def truck(more: str = "", coupling: str = "ball", x: float = 222.0, extra: str = "") -> str:
    """A two-axle truck with bars and a coupling."""
    return f"""
[vehicles.tow]
role = "towing"
{more}
[[vehicles.tow.axles]]
x = "0 in"
track = "68 in"
ride_rate = "380 lb/in"
roll_rate = "900000 lb*in/rad"
[[vehicles.tow.axles]]
x = "176 in"
track = "74 in"
ride_rate = "520 lb/in"
roll_rate = "350000 lb*in/rad"
[vehicles.tow.couplings.hook]
type = "{coupling}"
x = "{x} in"
{extra}
"""


def cart(*places: float, sharing: str = "independent", name: str = "cart") -> str:
    """A trailer with bars on every axle."""
    axles = "".join(
        f"""
[[vehicles.{name}.axles]]
x = "{x} in"
track = "{track} in"
ride_rate = "{ride} lb/in"
roll_rate = "150000 lb*in/rad"
group = "rear"
sharing = "{sharing}"
"""
        for x, track, ride in zip(places, (80, 78, 82, 80), (700, 760, 720, 700), strict=False)
    )
    return f'\n[vehicles.{name}]\nrole = "trailer"\n{axles}'


DRIVER = '[cargo.driver]\non = "tow"\nmass = "190 lb +/- 2 lb"\nx = "62 in"\ny = "15 in"\n'
BALES = '[cargo.bales]\non = "cart"\nmass = "800 lb +/- 5 lb"\nx = "150 in"\ny = "20 in"\n'
WATER = (
    '[cargo.water]\non = "cart"\nvolume = "100 gal +/- 1 gal"\ndensity = "8.34 lb/gal"\nlevel = "25 % +/- 3 %"\n'
    'x = "96 in"\ny = "-6 in"\n'
)
STONE = '[cargo.stone]\non = "tow"\n'
DRUM = '[cargo.drum]\non = "tow"\nmass = "450 lb"\ny = "-20 in"\n'

SOLO = '[states.solo]\nvehicles = ["tow"]\ncargo = ["driver"]\n'


def hitched(name: str, *, cargo: str = '"driver"', more: str = "", rest: str = "") -> str:
    """A state with the trailer on the truck's hook."""
    return (
        f'[states.{name}]\nvehicles = ["tow", "cart"]\ncargo = [{cargo}]\n'
        f'couple = {{ towing = "tow", at = "hook", trailer = "cart"{more} }}\n{rest}'
    )


def draft(state: str, vehicle: str, values: tuple[int, ...], *, more: str = "", first: int = 1, extra: str = "") -> str:
    """A draft of four pads under a vehicle's wheels from axle ``first`` on."""
    places = [f"{vehicle}/{first + pad // 2}{'LR'[pad % 2]}" for pad in range(len(values))]
    told = [
        f'"{place}" = ["p{pad}", {value}]' for pad, (place, value) in enumerate(zip(places, values, strict=True), 1)
    ]
    if extra:
        told.append(extra)
    return f'[[drafts]]\nstate = "{state}"\n{more}readings = {{ {", ".join(told)} }}\n'


SOLO_TOW = (2370, 2210, 1710, 1880)
HEAD = 'format = 1\n[site]\nunevenness = "2 mm"\n'


def _tandem() -> str:
    again = 'placement = "again"\n'
    drafts = draft("solo", "tow", SOLO_TOW) + draft("hitched", "tow", (2150, 2100, 2580, 2650))
    drafts += draft("hitched", "cart", (2870, 2640, 2370, 2470))
    drafts += draft("hitched", "cart", (3470, 3450), more='unsupported = "ground"\n')
    drafts += draft("hitched", "cart", (2890, 2590, 2340, 2530), more=again)
    drafts += draft("hitched", "cart", (2890, 2580, 2350, 2530), more=again)
    states = SOLO + hitched("hitched", cargo='"driver", "water"')
    states += hitched("full", cargo='"driver", "water"', rest='change.water.level = "100 %"\n')
    site = HEAD + 'pad_sink = "2 mm +/- 1 mm"\n'
    return site + PADS + truck() + cart(182, 218) + DRIVER + WATER + states + drafts


def _bars() -> str:
    rate = ', weight_distribution_rate = "300000 lb*in/rad"'
    states = SOLO + hitched("off") + hitched("on", more=f", weight_distribution = true{rate}")
    same = f', weight_distribution = {{ as = "on" }}{rate}'
    states += hitched("loaded", cargo='"driver", "bales"', more=same)
    states += hitched("stated", more=', weight_distribution = "9000 lb*in +/- 500 lb*in"')
    drafts = draft("solo", "tow", SOLO_TOW) + draft("off", "tow", (2170, 2060, 2570, 2710))
    drafts += draft("off", "cart", (2610, 2500, 2600, 2580))
    drafts += draft("on", "tow", (2460, 2210, 2130, 2370)) + draft("on", "cart", (2690, 2530, 2670, 2710))
    return HEAD + PADS + truck() + cart(182, 218, sharing="equalised") + DRIVER + BALES + states + drafts


def _double() -> str:
    hooked = cart(182, 218) + '[vehicles.cart.couplings.rear]\ntype = "ball"\nx = "290 in"\n'
    two = (
        '[states.two]\nvehicles = ["tow", "cart", "boat"]\ncargo = ["driver"]\ncouple = [{ towing = "tow", '
        'at = "hook", trailer = "cart" }, { towing = "cart", at = "rear", trailer = "boat" }]\n'
    )
    drafts = draft("solo", "tow", SOLO_TOW) + draft("one", "tow", (2140, 2100, 2570, 2650))
    drafts += draft("one", "cart", (2850, 2670, 2410, 2440)) + draft("two", "boat", (1400, 1380))
    drafts += draft("two", "cart", (3000, 2700, 2470, 2650)) + draft("two", "tow", (2220, 2060, 2440, 2610))
    return HEAD + PADS + truck() + hooked + cart(150, name="boat") + DRIVER + SOLO + hitched("one") + two + drafts


def _fifth_wheel(sharing: str, *readings: tuple[int, ...]) -> str:
    tow, behind, crated = readings
    drafts = draft("solo", "tow", SOLO_TOW) + draft("hitched", "tow", tow)
    drafts += draft("hitched", "cart", behind) + draft("crated", "cart", crated)
    plate = truck(coupling="fifth_wheel", x=160.0, extra='roll_rate = "600000 lb*in/rad"\n')
    states = SOLO + hitched("hitched") + hitched("crated", cargo='"driver", "bales"')
    return HEAD + PADS + plate + cart(300, 336, sharing=sharing) + DRIVER + BALES + states + drafts


def _stand() -> str:
    states = '[states.parked]\nvehicles = ["cart"]\n[states.loaded]\nvehicles = ["cart"]\ncargo = ["bales"]\n'
    states += hitched("hitched", more=', height_change = "1.5 in +/- 0.2 in"') + SOLO
    drafts = draft("parked", "cart", (2850, 2650, 2230, 2480), extra='"cart/coupling" = ["s1", 1240]')
    drafts += draft("loaded", "cart", (2890, 2650, 2530, 2500))
    drafts += draft("hitched", "cart", (2730, 2430, 2240, 2470)) + draft("solo", "tow", SOLO_TOW)
    return HEAD + PADS + SCALE + truck() + cart(182, 218, 254) + DRIVER + BALES + states + drafts


def _bed() -> str:
    plate = PLATE.replace("division", 'height = "3 in +/- 0.2 in"\nmass = "120 lb +/- 5 lb"\ndivision')
    states = SOLO + hitched("hitched") + hitched("crated", cargo='"driver", "bales"')
    drafts = draft("solo", "tow", (2460, 2120, 1630, 1970)) + draft("hitched", "cart", (3250, 2810, 2010, 2320))
    drafts += draft("hitched", "tow", (2530, 2190, 2250, 2580), extra='"cart/coupling" = ["s1", 1230]')
    drafts += draft("crated", "cart", (3310, 2640, 2460, 2530), extra='"cart/coupling" = ["s1", 1360]')
    rig = truck(coupling="fifth_wheel", x=160.0, extra='roll_rate = "600000 lb*in/rad"\n') + cart(182, 218)
    return HEAD + PADS + plate + rig + DRIVER + BALES + states + drafts


def _cargo() -> str:
    states = '[states.empty]\nvehicles = ["tow"]\n[states.stone]\nvehicles = ["tow"]\ncargo = ["stone"]\n'
    states += '[states.both]\nvehicles = ["tow"]\ncargo = ["stone", "drum"]\n'
    drafts = draft("empty", "tow", (2400, 2180, 1700, 1900)) + draft("stone", "tow", (2550, 2260, 1990, 2100))
    drafts += draft("both", "tow", (2550, 2320, 2070, 2380))
    return HEAD + PADS + truck() + STONE + DRUM + states + drafts


def _slope() -> str:
    site = HEAD + 'slope_long = "0.6 deg"\nslope_lat = "-0.4 deg +/- 0.05 deg"\nlatitude = "44 deg"\n'
    drafts = draft("solo", "tow", (2440, 2120, 1700, 1930)) + draft("solo", "tow", (2400, 2160, 1740, 1890))
    return site + PADS + truck('cg_height = "32 in +/- 2 in"') + DRIVER + SOLO + drafts


def _solo() -> str:
    states = '[states.full]\nvehicles = ["tow"]\ncargo = ["driver"]\n[states.empty]\nvehicles = ["tow"]\n'
    drafts = draft("full", "tow", (2390, 2190, 1690, 1910)) + draft("full", "tow", (2420, 2170, 1680, 1930))
    return HEAD + PADS + truck() + DRIVER + states + drafts


RICH = {
    "solo": _solo(),
    "tandem": _tandem(),
    "bars": _bars(),
    "double": _double(),
    "fifth wheel": _fifth_wheel(
        "independent", (2430, 2250, 2210, 2550), (2850, 2670, 2370, 2460), (3120, 2710, 2460, 2450)
    ),
    "plate": _fifth_wheel("equalised", (2450, 2250, 2220, 2540), (2490, 2450, 2690, 2650), (2750, 2420, 2830, 2670)),
    "stand": _stand(),
    "bed": _bed(),
    "cargo": _cargo(),
    "slope": _slope(),
}
"""Days by name, as text."""
