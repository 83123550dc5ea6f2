"""A lens from many photos of one flat target: the bundle adjustment, and what it is worth.

Unknown are the lens and where the camera stood for each photo; known are the target's points and
where each photo has them. All are found together by least squares (Zhang, IEEE TPAMI 22 (2000)
1330; Triggs et al., Bundle Adjustment, a Modern Synthesis, 2000), with normal priors so wide that
good photos overrule them. The target may be printed a little longer one way than the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.calibration.coverage import corners_missing, edges_missing, fields
from recorder.photo.geometry.lens import Lens
from recorder.photo.geometry.plane import from_points
from recorder.photo.image.refusal import Refusal

Array = NDArray[np.float64]

LEAST_PHOTOS = 5
_LEAST_TILT_DEG = 12.0
_LARGEST_FOCAL_U = 0.02
_LARGEST_HELD_OUT = 0.005
_FOLDS = 3
_OFF_TIMES, _OFF_PX = 3.0, 0.15  # a photo this much worse than the usual one is left out
_FAR_OFF = 0.005  # of the picture's longer side
_HUBER = 3.0
_STEPS = 60
_POSE = 6

# Shared unknowns: focal length, height over width of a pixel, principal point, k1, k2, p1, p2, k3,
# and how much longer the target is in y than it says. Means where they are not 0, and standard
# deviations: common practice, no source; the principal point's is a share of the longer side.
_SHARED = 10
_PIXEL_U, _CENTRE_U, _DISTORTION_U = 0.001, 0.05, (0.5, 0.5, 0.01, 0.01, 0.5)
PRINT_U, PRINT_MEASURED_U = 0.003, 0.0005


@dataclass(frozen=True)
class Sighting:
    """The target in one photo. name: of the photo. places: (n, 2) on the target, in any unit.
    px: (n, 2) in the photo as the camera stores it.
    """

    name: str
    places: Array
    px: Array


@dataclass(frozen=True)
class Calibrated:
    """lens: found. rms_px: misfit of the corners per axis. held_out: relative standard deviation
    of lengths in photos that were left out in turn. focal_u: relative standard uncertainty.
    tilt_deg: largest angle between two views. fields: corners in each field of the picture.
    unseen: edges of the picture that no corner is near.
    used: names of the photos. left_out: names of the others, and why. points: how many corners.
    """

    lens: Lens
    rms_px: float
    held_out: float
    focal_u: float
    tilt_deg: float
    fields: tuple[tuple[int, ...], ...]
    unseen: tuple[str, ...]
    used: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    points: int


@dataclass(frozen=True)
class _Bundle:
    """shared: (10,) see above. poses: (photos, 6) rotation vector and shift. rms: (photos,) misfit
    a photo, per axis. noise: per axis, robust. focal_u: standard uncertainty, pixels.
    """

    shared: Array
    poses: Array
    rms: Array
    noise: float
    focal_u: float

    @property
    def lens(self) -> Lens:
        focal, aspect, x, y, *distortion, _ = (float(v) for v in self.shared)
        k1, k2, p1, p2, k3 = distortion
        return Lens((focal, focal * aspect), (x, y), (k1, k2, p1, p2, k3))


def calibrate(
    sightings: Sequence[Sighting], size_px: tuple[int, int], print_u: float = PRINT_U
) -> Calibrated:
    """The lens that took these photos of ``size_px`` (width, height) as stored.

    print_u: relative standard uncertainty of the target's height over its width. Raises Refusal
    for too few photos, for photos that do not tell the focal length, that leave corners of the
    picture empty, or that do not agree.
    """
    left_out: list[tuple[str, str]] = []
    good = list(sightings)
    while True:
        _enough(good, left_out)
        try:
            bundle = _adjust(good, size_px, print_u)
        except (cv2.error, np.linalg.LinAlgError) as error:
            raise Refusal(
                "the shapes in the photos make no sense together; take them again, of a flat target"
            ) from error
        usual = float(np.median(bundle.rms))
        if not usual < _FAR_OFF * max(size_px):
            raise Refusal(
                f"the photos do not fit one lens and one flat target (corners are {usual:.0f} px "
                "off); take them again, with a target that is flat and stiff"
            )
        worst = int(np.argmax(bundle.rms))
        off = float(bundle.rms[worst])
        if off <= max(_OFF_TIMES * usual, usual + _OFF_PX):
            break
        left_out.append((
            good.pop(worst).name,
            f"its corners are {off:.1f} px off, those of the others {usual:.1f} px: "
            "the target was bent or the camera moved",
        ))  # fmt: skip
    tilt = _widest_angle(bundle.poses)
    focal_u = bundle.focal_u / float(bundle.shared[0])
    if tilt < _LEAST_TILT_DEG or focal_u > _LARGEST_FOCAL_U:
        raise Refusal(
            f"the photos are taken from nearly one direction ({tilt:.0f}° apart), which does not "
            "tell the focal length; tilt the camera by 20 to 40° to all four sides in half of them"
        )
    seen = np.concatenate([sighting.px for sighting in good])
    missing = corners_missing(seen, size_px)
    if missing:
        raise Refusal(
            f"no photo has the target in {' and '.join(missing)} of the picture, where a lens "
            "bends most; add photos with the target there, whole"
        )
    held_out = _held_out(good, size_px, print_u)
    if held_out > _LARGEST_HELD_OUT:
        raise Refusal(
            f"lengths are {held_out:.1%} off on photos that the lens was not found from, which "
            "is no better than without calibration; use a target that is flat and stiff, in focus"
        )
    return Calibrated(
        lens=bundle.lens,
        rms_px=float(np.sqrt(np.mean(bundle.rms**2))),
        held_out=held_out,
        focal_u=focal_u,
        tilt_deg=tilt,
        fields=fields(seen, size_px),
        unseen=edges_missing(seen, size_px),
        used=tuple(sighting.name for sighting in good),
        left_out=tuple(left_out),
        points=len(seen),
    )


def _enough(good: Sequence[Sighting], left_out: Sequence[tuple[str, str]]) -> None:
    if len(good) >= LEAST_PHOTOS:
        return
    gone = f", {len(left_out)} do not fit the rest" if left_out else ""
    raise Refusal(
        f"only {len(good)} photos show the target well enough{gone}, and {LEAST_PHOTOS} are "
        "needed; take 10 to 20, from all sides, with the target in every part of the picture"
    )


def _adjust(good: Sequence[Sighting], size_px: tuple[int, int], print_u: float) -> _Bundle:
    """Least squares by Levenberg and Marquardt; corners far off count less (Huber)."""
    shared, poses = _start(good, size_px)
    mean, u = shared.copy(), _prior_u(size_px, float(shared[0]), print_u)
    mean[1:] = (1.0, (size_px[0] - 1) / 2, (size_px[1] - 1) / 2, 0, 0, 0, 0, 0, 1.0)
    damping, noise = 1e-3, 1.0
    residuals, slopes = _misfit(good, shared, poses)
    cost = np.inf
    for _ in range(_STEPS):
        flat = np.concatenate([r.ravel() for r in residuals])
        noise = max(0.01, 1.4826 * float(np.median(np.abs(flat))))
        normal, force, cost = _equations(residuals, slopes, noise)
        normal[:_SHARED, :_SHARED] += np.diag(1 / u**2)
        force[:_SHARED] += (mean - shared) / u**2
        cost += float((((shared - mean) / u) ** 2).sum())
        settled = False
        while damping < 1e12:
            ridge = np.diag(damping * np.diag(normal))
            step = np.linalg.solve(normal + ridge, force)
            new_shared = shared + step[:_SHARED]
            new_poses = poses + step[_SHARED:].reshape(-1, _POSE)
            new_residuals, new_slopes = _misfit(good, new_shared, new_poses)
            new_cost = _equations(new_residuals, new_slopes, noise)[2]
            new_cost += float((((new_shared - mean) / u) ** 2).sum())
            if np.isfinite(new_cost) and new_cost <= cost:
                settled = cost - new_cost < 1e-9 * cost
                shared, poses, residuals, slopes = new_shared, new_poses, new_residuals, new_slopes
                damping = max(damping / 8, 1e-12)
                break
            damping *= 10
        if settled or damping >= 1e12:
            break
    normal, _, _ = _equations(residuals, slopes, noise)
    normal[:_SHARED, :_SHARED] += np.diag(1 / u**2)
    covariance = np.linalg.pinv(normal, hermitian=True)
    rms = np.array([float(np.sqrt(np.mean(r**2))) for r in residuals])
    return _Bundle(shared, poses, rms, noise, float(np.sqrt(max(covariance[0, 0], 0.0))))


def _prior_u(size_px: tuple[int, int], focal_px: float, print_u: float) -> Array:
    centre = _CENTRE_U * max(size_px)
    return np.array([10 * focal_px, _PIXEL_U, centre, centre, *_DISTORTION_U, print_u])


def _start(good: Sequence[Sighting], size_px: tuple[int, int]) -> tuple[Array, Array]:
    """A lens without distortion, and where the camera stood for each photo."""
    spaces = [_space(sighting.places, 1.0).astype(np.float32) for sighting in good]
    views = [sighting.px.astype(np.float32).reshape(-1, 1, 2) for sighting in good]
    matrix = np.asarray(cv2.initCameraMatrix2D(spaces, views, size_px, 1.0), float)
    focal, longer = float(matrix[0, 0]), max(size_px)
    if not 0.3 * longer < focal < 10 * longer:  # nearly square on, or nonsense
        focal = 0.8 * longer
    x, y = (size_px[0] - 1) / 2, (size_px[1] - 1) / 2
    camera = np.array([[focal, 0, x], [0, focal, y], [0, 0, 1.0]])
    poses = []
    for space, view in zip(spaces, views, strict=True):
        _, turn, shift = cv2.solvePnP(space, view, camera, np.zeros(5))
        poses.append(np.concatenate([np.ravel(turn), np.ravel(shift)]))
    return np.array([focal, 1.0, x, y, 0, 0, 0, 0, 0, 1.0]), np.array(poses, float)


def _space(places: Array, longer_y: float) -> Array:
    return np.column_stack([places[:, 0], places[:, 1] * longer_y, np.zeros(len(places))])


def _misfit(
    good: Sequence[Sighting], shared: Array, poses: Array
) -> tuple[list[Array], list[Array]]:
    """For each photo residuals (2n,) and derivatives (2n, 16): shared unknowns, then its pose."""
    focal, aspect, x, y = shared[:4]
    camera = np.array([[focal, 0, x], [0, focal * aspect, y], [0, 0, 1.0]])
    bend, longer_y = shared[4:9], float(shared[9])
    residuals, slopes = [], []
    for sighting, pose in zip(good, poses, strict=True):
        space = _space(sighting.places, longer_y)
        seen, by = cv2.projectPoints(space, pose[:3], pose[3:], camera, bend)
        by = np.asarray(by, float)
        by_focal = by[:, 6] + by[:, 7] * aspect
        # A longer target moves its points along its own y, as a shift of the camera would.
        down = np.asarray(cv2.Rodrigues(pose[:3])[0], float)[:, 1]
        by_length = (by[:, 3:6] @ down) * np.repeat(sighting.places[:, 1], 2)
        columns = [by_focal, by[:, 7] * focal, *by[:, 8:15].T, by_length, *by[:, :6].T]
        residuals.append((sighting.px - np.reshape(seen, (-1, 2))).ravel())
        slopes.append(np.column_stack(columns))
    return residuals, slopes


def _equations(
    residuals: Sequence[Array], slopes: Sequence[Array], noise: float
) -> tuple[Array, Array, float]:
    """Normal matrix and right side of all unknowns, and the cost."""
    size = _SHARED + _POSE * len(residuals)
    normal, force, cost = np.zeros((size, size)), np.zeros(size), 0.0
    for i, (residual, slope) in enumerate(zip(residuals, slopes, strict=True)):
        off = np.abs(residual) / noise
        weight = np.minimum(1.0, _HUBER / np.maximum(off, 1e-9))
        cost += float(np.where(off < _HUBER, off**2, _HUBER * (2 * off - _HUBER)).sum())
        at = np.r_[0:_SHARED, _SHARED + _POSE * i : _SHARED + _POSE * (i + 1)]
        scaled = slope * (weight / noise**2)[:, None]
        normal[np.ix_(at, at)] += scaled.T @ slope
        force[at] += scaled.T @ residual
    return normal, force, cost


def _widest_angle(poses: Array) -> float:
    """Largest angle between two directions from which the target was seen, degrees."""
    normals = np.array([np.asarray(cv2.Rodrigues(pose[:3])[0], float)[:, 2] for pose in poses])
    return float(np.degrees(np.arccos(np.clip(normals @ normals.T, -1, 1))).max())


def _held_out(good: Sequence[Sighting], size_px: tuple[int, int], print_u: float) -> float:
    """Relative standard deviation of lengths in photos that the lens was not found from.

    As with the card, each plane is found from points on two sides, and lengths between others in
    the middle are compared.
    """
    errors: list[Array] = []
    folds = min(_FOLDS, len(good))
    for fold in range(folds):
        rest = [sighting for i, sighting in enumerate(good) if i % folds != fold]
        bundle = _adjust(rest, size_px, print_u)
        for sighting in good[fold::folds]:
            true = sighting.places * (1.0, bundle.shared[9])
            errors.append(_length_errors(replace(sighting, places=true), bundle.lens))
    all_errors = np.concatenate(errors)
    if not len(all_errors):
        raise Refusal(
            "every photo shows too little of the target to hold a length against it; show it whole"
        )
    return float(np.sqrt(np.mean(all_errors**2)))


def _length_errors(sighting: Sighting, lens: Lens) -> Array:
    """Relative errors of lengths in the middle third, on the plane of the points on both sides."""
    places, px = sighting.places, sighting.px
    low, high = places.min(axis=0), places.max(axis=0)
    aside = np.abs(places[:, 0] - (low[0] + high[0]) / 2) / (high[0] - low[0]) * 2
    outer = aside > 0.55
    inner = ~outer
    if outer.sum() < 4 or inner.sum() < 2:
        return np.zeros(0)
    try:
        plane = from_points(places[outer], px[outer], 0.01, lens)
    except ValueError:  # a ChArUco of which too little shows
        return np.zeros(0)
    found, true = plane.to_mm(px[inner]), places[inner]
    one, other = np.triu_indices(len(true), 1)
    length = np.linalg.norm(true[one] - true[other], axis=1)
    long = length > 0.5 * length.max()
    measured = np.linalg.norm(found[one] - found[other], axis=1)
    return np.asarray((measured / length - 1)[long])
