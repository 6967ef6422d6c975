"""How much room a store takes: clamps of every shape, heaps, bags, stacks and bales as volumes.

A clamp or heap is cut level by level: at height y it is so wide and so long, and the volume between
two heights is H/6 x (area below + 4 x area half-way + area above), which is exact for sloping
walls, ramps and heaps without walls.
"""

from __future__ import annotations

from itertools import pairwise
from math import pi, radians, tan

from rationlp.records import dataclass

Sizes = dict[str, float | str]

CAP_SHARE = 2.0 / 3.0
"""Share of its box that a rounded (parabolic) cap fills: geometry."""
SLACK_BAG = 0.9
"""Share of the round that a slack bag fills; common practice, no source (c)."""


@dataclass(frozen=True)
class Solid:
    """A body of forage [m, m2, m3]. depth_m: from the floor to its top, what density goes by.

    area_m2: the cross-section that a full face shows; width_m, height_m: of that face. length_m:
    volume over cross-section, the length that is left to be eaten at a full face. whole_m3: the
    volume before any was eaten.
    """

    volume_m3: float
    area_m2: float
    width_m: float
    height_m: float
    length_m: float
    depth_m: float
    whole_m3: float
    equation: str


@dataclass(frozen=True)
class Outline:
    """The outline of a clamp or heap, of one cut of it where others lie below.

    base_m, top_m: heights between which it lies. floor and top width and length at those of the
    whole clamp (0 and top_m). front_run_m, back_run_m: length of the ramps up to top_m. eaten_m:
    length already fed from the front.
    """

    base_m: float
    top_m: float
    floor_width_m: float
    top_width_m: float
    floor_length_m: float
    front_run_m: float
    back_run_m: float
    eaten_m: float

    def width(self, y: float) -> float:
        """Width at a height [m]: straight between the floor's and the top's."""
        return self.floor_width_m + (self.top_width_m - self.floor_width_m) * y / self.top_m

    def length(self, y: float) -> float:
        """Length left at a height [m]: each ramp by its slope, the eaten face upright."""
        share = y / self.top_m
        return max(
            0.0,
            self.floor_length_m
            - max(self.eaten_m, self.front_run_m * share)
            - self.back_run_m * share,
        )

    def volume(self) -> float:
        """Volume from base to top [m3]; in two pieces where the eaten face meets the front ramp."""
        heights = [self.base_m, self.top_m]
        if self.front_run_m > 0.0:
            meets = self.top_m * self.eaten_m / self.front_run_m
            if self.base_m < meets < self.top_m:
                heights.insert(1, meets)
        return sum(self._between(low, high) for low, high in pairwise(heights))

    def _between(self, low: float, high: float) -> float:
        middle = (low + high) / 2.0
        areas = [self.width(y) * self.length(y) for y in (low, middle, high)]
        return (high - low) / 6.0 * (areas[0] + 4.0 * areas[1] + areas[2])


def number(size: Sizes, key: str, default: float = 0.0) -> float:
    """A size as a number, or the default where the farm did not give it."""
    value = size.get(key, default)
    return float(value)


def outline(size: Sizes) -> Outline:
    """The outline of a clamp from its sizes; its shape decides what the ramps and the top are."""
    length, width, height = (number(size, key) for key in ("length_m", "width_m", "height_m"))
    shape = size.get("shape", "level")
    front, back = (ramp_run(size, key) for key in ("ramp_angle_degrees", "back_ramp_angle_degrees"))
    if shape == "wedge":
        front, back = length, 0.0
    elif shape == "heap":
        front = back = (length - number(size, "top_length_m", length)) / 2.0
    return Outline(
        base_m=number(size, "base_height_m"),
        top_m=height,
        floor_width_m=width,
        top_width_m=number(size, "top_width_m", width),
        floor_length_m=length,
        front_run_m=front,
        back_run_m=back,
        eaten_m=number(size, "fed_length_m"),
    )


def ramp_run(size: Sizes, key: str) -> float:
    """How far a ramp of an angle reaches along the floor [m]: height over tangent, or 0."""
    if key not in size:
        return 0.0
    return number(size, "height_m") / tan(radians(number(size, key)))


def clamp_solid(size: Sizes) -> Solid:
    """A clamp or heap as a body: outline, plus a cap, less shoulders cut back at 45 degrees."""
    shape = outline(size)
    whole = Outline(**{**vars(shape), "eaten_m": 0.0})
    volume = shape.volume() + _top(size, shape)
    bottom, top = shape.width(shape.base_m), shape.width(shape.top_m)
    area = (bottom + top) / 2.0 * (shape.top_m - shape.base_m) + _top_area(size, shape)
    height = shape.top_m - shape.base_m + number(size, "crown_m")
    width = (bottom + top) / 2.0
    if "face_width_m" in size:
        share = min(1.0, number(size, "face_width_m") / width)
        area, width = area * share, width * share
    depth = shape.top_m + number(size, "crown_m")
    equation = "H/6 x (area below + 4 x half-way + above)" + _words(size)
    return Solid(
        volume,
        area,
        width,
        height,
        volume / area,
        depth,
        whole.volume() + _top(size, whole),
        equation,
    )


def _top_area(size: Sizes, shape: Outline) -> float:
    """What the cap adds to a cross-section and the shoulders take from it [m2]."""
    width = shape.width(shape.top_m)
    crown = number(size, "crown_m")
    if "crown_flat_m" in size:
        cap = (width + number(size, "crown_flat_m")) / 2.0 * crown
    else:
        cap = CAP_SHARE * width * crown
    return cap - number(size, "shoulder_m") ** 2


def _top(size: Sizes, shape: Outline) -> float:
    """What cap and shoulders add to the volume, or take from it [m3], each at its own height."""
    shoulder = number(size, "shoulder_m")
    cap = _top_area(size, shape) + shoulder**2
    return cap * shape.length(shape.top_m) - shoulder**2 * shape.length(
        shape.top_m - shoulder / 2.0
    )


def _words(size: Sizes) -> str:
    words = ""
    if "crown_flat_m" in size:
        words += " + (W + flat)/2 x h x L of the cap"
    elif "crown_m" in size:
        words += " + 2/3 x W x h x L of the cap"
    if "shoulder_m" in size:
        words += " - h2 x L of both shoulders"
    return words


def bag_solid(length_m: float, diameter_m: float, slack: bool) -> Solid:
    """A bag as a body [m]: pi/4 x D2 x (length of plastic - 2 D), times 0.9 where it is slack.

    Source: University of Wisconsin, tons of silage in silo bags (a); the slack bag is common
    practice, no source (c).
    """
    area = pi / 4.0 * diameter_m**2
    equation = "pi/4 x D2 x (L - 2 D)"
    if slack:
        area *= SLACK_BAG
        equation += " x 0.9"
    length = length_m - 2.0 * diameter_m
    volume = area * length
    return Solid(volume, area, diameter_m, diameter_m, length, diameter_m, volume, equation)


def box_solid(length_m: float, width_m: float, height_m: float) -> Solid:
    """A stack as a body [m]."""
    area = width_m * height_m
    volume = length_m * area
    return Solid(volume, area, width_m, height_m, length_m, height_m, volume, "L x W x H")


def bale_m3(size: Sizes) -> float:
    """Volume of one bale [m3]: round pi/4 x D2 x width, else length x width x height."""
    if "bale_diameter_m" in size:
        return pi / 4.0 * number(size, "bale_diameter_m") ** 2 * number(size, "bale_width_m")
    return (
        number(size, "bale_length_m") * number(size, "bale_width_m") * number(size, "bale_height_m")
    )
