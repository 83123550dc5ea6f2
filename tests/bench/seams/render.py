"""A scene to the light on each pixel, in strips: coverage is exact, colours are looked up.

A fine grid of two cells a pixel carries the edges (their exact share of each cell), then comes the
blur of the lens on that grid, then the pixel's own square aperture as the mean of its four cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.bench.seams import art, texture
from tests.bench.seams.coverage import Shape
from tests.bench.seams.scene import Blur, Scene
from tests.bench.seams.splice import Cut, Edges, cut, dense, end

Plane = NDArray[np.float32]
Points = NDArray[np.float64]

FINE = 2
STRIP = 128
EVERY = 8
"""Smooth maps are computed at every so many pixels."""
DEPTHS_MM = (0.06, 0.2, 0.7)
"""Below the top face: where a wall's shade changes."""
SLIP_MM = 0.6
"""No ray goes further sideways than this between two levels of a wall."""
CONTACT = 0.35
"""Dimming right beside a thing that lies on something."""


@dataclass(frozen=True)
class Laid:
    """The splice as it lies: cuts in the belt frame, outlines of the pieces of belt from left."""

    cuts: tuple[Cut, ...]
    edges: tuple[Edges, ...]
    pieces: tuple[Points, ...]


def lay(scene: Scene) -> Laid:
    """Cut the seams and the belt's edges."""
    belt = scene.belt
    half = max(belt.widths) / 2
    cuts = tuple(cut(seam, half + abs(belt.offset_mm) + 2) for seam in scene.seams)
    slope = float(np.tan(np.radians(belt.skew_deg)))
    left = Edges(-belt.widths[0] / 2, belt.widths[0] / 2)
    right = Edges(belt.offset_mm - belt.widths[1] / 2, belt.offset_mm + belt.widths[1] / 2, slope)
    reach = reach_mm(scene)
    edges = (left, *(right for _ in cuts))
    pieces = []
    for k, of in enumerate(edges):
        west = cuts[k - 1].right if k > 0 else None
        east = cuts[k].left if k < len(cuts) else None
        pieces.append(end(west, east, of, reach))
    return Laid(cuts, edges, tuple(pieces))


def reach_mm(scene: Scene) -> float:
    """So far from the middle anything may be seen."""
    camera = scene.camera
    seen = np.hypot(camera.width, camera.height) / 2 / camera.focal_px * camera.distance_mm
    tilt = np.radians(camera.tilt_deg)
    before = 0.6 * camera.distance_mm / max(np.sin(tilt), 1e-3)  # nothing behind the camera
    return float(min(1.6 * seen / np.cos(min(tilt, 1.0)) + 40, before, 900))


def to_world(scene: Scene, points: Points) -> Points:
    """Belt frame to world, with the bow."""
    belt = scene.belt
    x = points[:, 0]
    y = points[:, 1] + belt.bow_mm * ((x / 50) ** 2)
    c, s = np.cos(np.radians(belt.yaw_deg)), np.sin(np.radians(belt.yaw_deg))
    return np.column_stack([c * x - s * y + belt.at[0], s * x + c * y + belt.at[1]])


def to_belt(scene: Scene, world: Points) -> Points:
    """World (..., 2) to the belt frame."""
    belt = scene.belt
    c, s = np.cos(np.radians(belt.yaw_deg)), np.sin(np.radians(belt.yaw_deg))
    x, y = world[..., 0] - belt.at[0], world[..., 1] - belt.at[1]
    u, v = c * x + s * y, -s * x + c * y
    return np.stack([u, v - belt.bow_mm * ((u / 50) ** 2)], axis=-1)


def card_frame(scene: Scene) -> tuple[Points, Points]:
    """Matrix and shift from the art's nominal millimetres to the world."""
    card, face = scene.card, art.art(scene.card.size)
    turn = np.radians(card.yaw_deg + (90 if face.turned else 0))
    c, s = np.cos(turn), np.sin(turn)
    matrix = np.array([[c, -s], [s, c]]) @ np.diag(card.scale)
    return matrix, np.array(card.at) - matrix @ np.array(face.centre)


def card_height(scene: Scene) -> Callable[[Points], Points]:
    """Height of the card's face over the world's x, y."""
    card = scene.card
    under = 0.0 if card.on == "bench" else max(scene.belt.heights)
    face = art.art(card.size)
    reach = np.hypot(*face.size) / 2
    towards = np.radians(card.curl_towards_deg)

    def height(points: Points) -> Points:
        along = (points[..., 0] - card.at[0]) * np.cos(towards)
        along = along + (points[..., 1] - card.at[1]) * np.sin(towards)
        return under + card.thick_mm + card.curl_mm * np.minimum((along / reach) ** 2, 4)

    return height


def render(scene: Scene) -> Plane:
    """(height, width, 3) linear light, red first, 1.0 is a white in full light; not yet exposed."""
    return np.concatenate(list(strips(scene)))


def strips(scene: Scene) -> Iterator[Plane]:
    """The picture from the top, some rows at a time."""
    painter = _Painter(scene)
    camera = scene.camera
    halo = _halo(scene.blur)
    margin, columns = painter.margin, camera.width
    for first in range(0, camera.height, STRIP):
        last = min(first + STRIP, camera.height)
        rows = last - first
        seen = np.empty((rows, columns, 3), np.float32)
        for channel, fine in enumerate(painter.fine(first - halo, last + halo)):
            inner = _blurred(fine, scene.blur)[halo * FINE : (halo + rows) * FINE]
            size = (columns + 2 * margin, rows)
            mean = cv2.resize(inner, size, interpolation=cv2.INTER_AREA)
            seen[..., channel] = mean[:, margin : margin + columns]
        yield seen


def _halo(blur: Blur) -> int:
    need = 4 * blur.sigma_px + blur.disc_px + blur.motion_px / 2 + 2
    return int(np.ceil(need / EVERY) * EVERY)


def _blurred(fine: Plane, blur: Blur) -> Plane:
    if blur.disc_px > 0:
        fine = cv2.filter2D(fine, -1, _disc(blur.disc_px * FINE), borderType=cv2.BORDER_REPLICATE)
    if blur.motion_px > 0:
        kernel = _streak(blur.motion_px * FINE, blur.motion_deg)
        fine = cv2.filter2D(fine, -1, kernel, borderType=cv2.BORDER_REPLICATE)
    sigma = blur.sigma_px * FINE
    size = 2 * int(np.ceil(4 * sigma)) + 1
    return np.asarray(cv2.GaussianBlur(fine, (size, size), sigma, borderType=cv2.BORDER_REPLICATE))


def _disc(radius: float) -> Plane:
    reach = int(np.ceil(radius))
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    round_ = radius * np.column_stack([np.cos(angle), np.sin(angle)]) + reach + 0.5
    kernel = Shape([round_], 2 * reach + 1).rows(0, 2 * reach + 1)
    return np.asarray(kernel / kernel.sum(), np.float32)


def _streak(length: float, angle_deg: float) -> Plane:
    reach = int(np.ceil(length / 2 + 1))
    along = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    side = np.array([-along[1], along[0]]) / 2
    half = along * length / 2
    box = np.array([-half - side, half - side, half + side, -half + side]) + reach + 0.5
    kernel = Shape([box], 2 * reach + 1).rows(0, 2 * reach + 1)
    return np.asarray(kernel / kernel.sum(), np.float32)


class _Painter:
    """Everything that is prepared once for a picture; ``fine`` paints a strip of it."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.camera = scene.camera
        self.margin = _halo(scene.blur)
        self.columns = self.camera.width + 2 * self.margin
        self.laid = lay(scene)
        belt = scene.belt
        self.top = max(belt.heights)
        self.scale = self.camera.scale_at(0, 0, self.top)
        self.lamp = _lamp(scene)
        self._shapes()
        self._maps()
        self._faces()
        self._card()

    # ---- what is cut out exactly

    def _belt(self, points: Points, height: float) -> Points:
        """A closed outline of the belt frame at one height: (N, 3) of the world."""
        world = to_world(self.scene, dense(points, 1.0))
        return np.column_stack([world, np.full(len(world), height)])

    def _seen(self, outlines: list[Points]) -> Shape:
        """Closed outlines of world points (N, 3) on the fine grid."""
        grid = [(self.camera.project(o) + self.margin) * FINE for o in outlines]
        return Shape(grid, self.columns * FINE)

    def _shapes(self) -> None:
        belt, laid = self.scene.belt, self.laid
        last = len(laid.pieces) - 1
        self.heights = tuple(belt.heights[0 if k == 0 else 1] for k in range(last + 1))
        self.tops = [
            self._seen([self._belt(p, h)]) for p, h in zip(laid.pieces, self.heights, strict=True)
        ]
        floor = 0.0 if belt.groove_mm is None else max(self.top - belt.groove_mm, 0.0)
        self.floor = floor
        self.depths = self._depths(self.top - floor)
        self.walls = [
            self._seen([self._belt(p, max(h - d, 0.0))
                        for p, h in zip(laid.pieces, self.heights, strict=True)])
            for d in self.depths
        ]  # fmt: skip
        self.sides = self._sides()
        # Bench that the belt hides from the lamp.
        shift = np.array([*(self.lamp * self.top), 0.0])
        self.thrown = self._seen([self._belt(p, 0.0) + shift for p in laid.pieces])
        self.under: Shape | None = None
        if belt.groove_mm is not None:
            self.under, self.under_walls = self._groove(floor)
        self.covers = []
        for cover in self.scene.covers:
            heights = np.full(len(cover.outline), cover.height_mm)
            outline = np.column_stack([np.array(cover.outline), heights])
            self.covers.append((self._seen([outline]), cover))

    def _sides(self) -> Shape:
        """The long sides of the belt that the camera sees, from the top edge to the bench.

        As sheets, so that a thin sliver of a finger hides the slot behind it at every level.
        """
        eye = to_belt(self.scene, self.camera.eye()[:2])
        sheets = []
        for piece, of, height in zip(self.laid.pieces, self.laid.edges, self.heights, strict=True):
            for number, outward in ((0, -1), (1, 1)):
                level = of.at(piece[:, 0])[number]
                x = piece[np.abs(piece[:, 1] - level) < 1e-6, 0]
                beyond = outward * (eye[1] - of.at(eye[:1])[number][0]) > 0
                if len(x) == 0 or not beyond:
                    continue
                along = np.arange(x.min(), x.max() + 0.5, 1.0).clip(max=x.max())
                line = np.column_stack([along, of.at(along)[number]])
                world = to_world(self.scene, line)
                top = np.column_stack([world, np.full(len(world), height)])
                sheets.append(np.concatenate([top, (top * [1, 1, 0])[::-1]]))
        return self._seen(sheets)

    def _depths(self, whole: float) -> list[float]:
        """Levels below the top, so near that no ray slips between two of them unseen."""
        oblique = np.radians(self.camera.tilt_deg + 8)
        step = max(SLIP_MM / np.tan(min(oblique, 1.2)), 0.25)
        more = np.arange(DEPTHS_MM[-1] + step, whole - step / 2, step)
        return [*(d for d in DEPTHS_MM if d < whole), *(float(d) for d in more), whole]

    def _groove(self, floor: float) -> tuple[Shape, Shape]:
        """The under-layer: the belt without its seam, at the floor and where it meets the bench."""
        edges = self.laid.edges
        half = [e.at(np.zeros(1)) for e in edges]
        upper, lower = max(h[0][0] for h in half), min(h[1][0] for h in half)
        reach = 40.0 + max(s.finger_mm for s in self.scene.seams)
        box = np.array([[-reach, upper], [reach, upper], [reach, lower], [-reach, lower]])
        return self._seen([self._belt(box, floor)]), self._seen([self._belt(box, 0.0)])

    # ---- what is looked up

    def _faces(self) -> None:
        scene, belt = self.scene, self.scene.belt
        seen = np.concatenate([m.reshape(-1, 2) for m in self.on_top])
        across = max(belt.widths) / 2 + abs(belt.offset_mm) + 4
        along = float(np.clip(np.abs(seen[:, 0]).max(), 20, 500))
        per_mm = float(np.clip(1.3 * self.scale, 4, 24))
        self.faces = texture.belt_faces(
            belt, scene.marks, (-along, -across), (along, across), per_mm, scene.seed
        )
        reach = float(np.clip(np.abs(self.on_bench).max(), 20, 500))
        self.bench = texture.bench_face(
            scene.bench, scene.bench_grain, scene.clutter, reach, scene.seed
        )
        self.shade = self._slot_shade(along, across)

    def _slot_shade(self, along: float, across: float) -> texture.Sheet:
        """Gap over the belt's top, in and by the slots; nought elsewhere: (rows, columns, 1)."""
        per_mm = 5.0
        image = np.zeros((int(2 * across * per_mm), int(2 * along * per_mm)), np.float32)
        for one in self.laid.cuts:
            inside = one.middle[np.abs(one.middle[:, 1]) < across - 4]
            points = np.round((inside[:, :2] + [along, across]) * per_mm * 16).astype(np.int32)
            broad = int((np.max(inside[:, 2]) + 0.6) * per_mm)
            for k in range(0, len(points) - 3, 3):
                gap = float(max(inside[k : k + 4, 2].mean(), 0.02))
                cv2.line(image, points[k], points[k + 3], gap, broad, cv2.LINE_8, 4)
        # Beyond the belt's edges the bench lies open.
        x = (np.arange(image.shape[1]) + 0.5) / per_mm - along
        y = ((np.arange(image.shape[0]) + 0.5) / per_mm - across)[:, None]
        upper, lower = zip(*(edges.at(x) for edges in self.laid.edges), strict=True)
        image[(y < np.max(upper, axis=0)) | (y > np.min(lower, axis=0))] = 0
        return texture.Sheet(image[..., None], (-along, -across), per_mm)

    def _maps(self) -> None:
        """World points under every EVERY-th pixel, at the heights that matter."""
        self.on_bench = self._map(0.0)
        self.on_top = [to_belt(self.scene, self._map(h)) for h in self.scene.belt.heights]
        self.entered = self.on_top[int(np.argmax(self.scene.belt.heights))]

    def _map(self, height: float | Callable[[Points], Points]) -> Points:
        at = self.margin // EVERY + 1
        rows, columns = self.camera.height // EVERY + 1, self.camera.width // EVERY + 1
        y = (np.arange(-at, rows + at + 1) + 0.5) * EVERY
        x = (np.arange(-at, columns + at + 1) + 0.5) * EVERY
        self._at = at
        return self.camera.on_height(np.stack(np.meshgrid(x, y), axis=-1), height)

    def _spread(self, field: Points, first: int, last: int, fine: int = 1) -> Plane:
        """Rows first..last-1 of a coarse field (n, m, c) at every pixel, or finer."""
        begin = first // EVERY + self._at
        count = -(-(last - first) // EVERY)
        part = np.asarray(field[begin - 1 : begin + count + 1], np.float32)
        size = (part.shape[1] * EVERY * fine, part.shape[0] * EVERY * fine)
        big = cv2.resize(part, size, interpolation=cv2.INTER_LINEAR)
        big = big[EVERY * fine : (EVERY + last - first) * fine]
        skip = (self._at * EVERY - self.margin) * fine
        return np.asarray(big[:, skip : skip + self.columns * fine])

    def _look(self, sheet: texture.Sheet, at: Plane, border: int = cv2.BORDER_REPLICATE) -> Plane:
        per_mm, (left, top) = np.float32(sheet.per_mm), sheet.corner
        u = (at[..., 0] - np.float32(left)) * per_mm - np.float32(0.5)
        v = (at[..., 1] - np.float32(top)) * per_mm - np.float32(0.5)
        return np.asarray(cv2.remap(sheet.image, u, v, cv2.INTER_LINEAR, borderMode=border))

    # ---- the card

    def _card(self) -> None:
        scene = self.scene
        self.art = None
        if not scene.card.shown:
            return
        dpi = 600 if self.scale * FINE <= 30 else 900
        self.art = art.art(scene.card.size, dpi).coarser(self.scale * FINE)
        matrix, shift = card_frame(scene)
        height = card_height(scene)
        on_card = self._map(height)
        inverse = np.linalg.inv(matrix)
        self.on_card = (on_card - shift) @ inverse.T
        # Its shadow on what it lies on: the cover, moved away from the lamp.
        lifted = self.lamp * max(scene.card.thick_mm, 0.15)
        ground = self._map(0.0 if scene.card.on == "bench" else self.top)
        self.card_shadow = (ground - lifted - shift) @ inverse.T
        small = cv2.resize(
            self.art.face[..., 1], None, fx=0.2, fy=0.2, interpolation=cv2.INTER_AREA
        )
        blur = cv2.GaussianBlur(small, (0, 0), 0.25 * self.art.per_mm * 0.2 + 0.3)
        self.shadow_sheet = texture.Sheet(blur[..., None], (0.0, 0.0), self.art.per_mm * 0.2)

    def _lay_card(self, light: Plane, first: int, last: int) -> None:
        card = self.scene.card
        at = self._spread(self.on_card, first, last, FINE)
        sheet = texture.Sheet(self.art.face, (0.0, 0.0), self.art.per_mm)
        white, cover = cv2.split(self._look(sheet, at, cv2.BORDER_CONSTANT))
        under = self._spread(self.card_shadow, first, last)
        shade = self._look(self.shadow_sheet, under, cv2.BORDER_CONSTANT)
        light *= _grown(1 - CONTACT * shade) * (1 - cover)
        light += card.black * cover + (card.white - card.black) * white

    # ---- painting

    def fine(self, first: int, last: int) -> Plane:
        """Rows first..last-1 of pixels on the fine grid: (3, rows x FINE, columns x FINE)."""
        scene = self.scene
        low, high = (first + self.margin) * FINE, (last + self.margin) * FINE
        light = _planes(self._look(self.bench, self._spread(self.on_bench, first, last)))
        if self.thrown.touches(low, high):
            size = max(0.12 * self.top * self.scale * FINE, 1.0)
            thrown = cv2.GaussianBlur(self.thrown.rows(low, high), (0, 0), size)
            light *= 1 - scene.light.direct * thrown
        if self.art is not None and scene.card.on == "bench":
            self._lay_card(light, first, last)
        if self.thrown.touches(low, high) or self.walls[-1].touches(low, high):
            self._lay_belt(light, first, last, low, high)
        if self.art is not None and scene.card.on == "belt":
            self._lay_card(light, first, last)
        for shape, cover in self.covers:
            _over(light, shape.rows(low, high), np.array(cover.colour, np.float32))
        self._lit(light, first, last)
        return light

    def _lay_belt(self, light: Plane, first: int, last: int, low: int, high: int) -> None:
        """Top faces, then their walls at growing depth, then what the slot leaves of the floor."""
        belt = self.scene.belt
        gap = self._look(self.shade, self._spread(self.entered, first, last), cv2.BORDER_CONSTANT)
        depth = self.top - self.floor
        slot = gap > 0
        # A floor's middle sees the sky between the slot's rims; an open bench sees all of it.
        seen = np.where(slot, gap / np.hypot(gap, 2 * depth), np.float32(1))
        if self.under is None:
            light *= _grown(_relit(seen, self.scene.bench))
        else:
            under = np.array(belt.under, np.float32)
            _over(light, self.under_walls.rows(low, high), 0.6 * under)
            floor = self.under.rows(low, high)
            light *= 1 - floor
            floor *= _grown(_relit(seen, belt.under))
            light += floor * under[:, None, None]
        cover = [shape.rows(low, high) for shape in self.tops]
        whole = np.minimum(sum(cover), 1)
        open_side = np.maximum(whole, self.sides.rows(low, high))
        walls = 0.5 * (open_side - whole)
        whole, begin = open_side, 0.0
        for finish, shape in zip(self.depths, self.walls, strict=True):
            deeper = shape.rows(low, high)
            np.maximum(deeper, whole, out=deeper)
            middle = np.float32((begin + finish) / 2)
            # A wall's point sees half the sky less what the other rim hides of it.
            part = np.where(slot, 0.5 - 0.5 * middle / np.hypot(middle, gap), np.float32(0.5))
            band = np.subtract(deeper, whole, out=whole)
            band *= _grown(part)
            walls += band
            whole, begin = deeper, finish
        np.subtract(1, whole, out=whole)
        faces = [
            cv2.split(self._look(face, self._spread(at, first, last)))
            for face, at in zip(self.faces, self.on_top, strict=True)
        ]
        colour = 0.85 * np.mean(belt.colours, axis=0)
        for channel in range(3):
            plane = light[channel]
            plane *= whole
            plane += np.float32(colour[channel]) * walls
            for k, share in enumerate(cover):
                face = _grown(faces[0 if k == 0 else 1][channel])
                face *= share
                plane += face

    def _lit(self, light: Plane, first: int, last: int) -> None:
        """The lamp's slope, shadows and glare."""
        told = self.scene.light
        at = self._spread(self.on_bench, first, last)
        x, y = at[..., 0].copy(), at[..., 1].copy()
        level = np.float32(told.slope[0] / 100) * x + np.float32(told.slope[1] / 100) * y
        level = np.clip(1 + level, 0.15, 3.0)
        for shadow in told.shadows:
            c, s = np.cos(np.radians(shadow.towards_deg)), np.sin(np.radians(shadow.towards_deg))
            along = (x - shadow.through[0]) * np.float32(c) + (y - shadow.through[1]) * np.float32(
                s
            )
            soft = max(shadow.half_shade_mm, 0.02)
            inside = _ramp(along / soft) * _ramp((shadow.width_mm - along) / soft)
            level *= 1 - np.float32(shadow.depth) * inside
        level = _grown(level)
        for channel in range(3):
            light[channel] *= level * np.float32(told.tint[channel])
        if told.glare is not None:
            gx, gy, radius, strength = told.glare
            spot = strength * np.exp(-0.5 * ((x - gx) ** 2 + (y - gy) ** 2) / radius**2)
            light += _grown(spot.astype(np.float32))


def _lamp(scene: Scene) -> Points:
    """By how much a shadow moves in x and y for each millimetre of height."""
    towards, high = np.radians([scene.light.from_deg, scene.light.height_deg])
    return -np.array([np.cos(towards), np.sin(towards)]) / np.tan(high)


def _relit(seen: Plane, colour: tuple[float, float, float]) -> Plane:
    """Light on a floor that sees so much of the sky, its own bounces within the slot included."""
    return np.asarray(seen / (1 - 0.6 * float(np.mean(colour)) * (1 - seen)), np.float32)


def _ramp(t: Plane) -> Plane:
    t = np.clip(t + 0.5, 0, 1)
    return np.asarray(t * t * (3 - 2 * t), np.float32)


def _grown(plane: Plane) -> Plane:
    """Every pixel of (rows, columns) as FINE x FINE cells."""
    size = (plane.shape[1] * FINE, plane.shape[0] * FINE)
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_LINEAR))


def _planes(colours: Plane) -> Plane:
    """(rows, columns, 3) to (3, rows x FINE, columns x FINE)."""
    rows, columns = colours.shape[:2]
    grown = np.empty((3, rows * FINE, columns * FINE), np.float32)
    for channel, plane in enumerate(cv2.split(colours)):
        size = (columns * FINE, rows * FINE)
        cv2.resize(plane, size, dst=grown[channel], interpolation=cv2.INTER_LINEAR)
    return grown


def _over(light: Plane, cover: Plane, colour: Plane) -> None:
    light *= 1 - cover
    light += cover * colour[:, None, None]
