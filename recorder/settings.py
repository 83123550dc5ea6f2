"""The user's settings: one frozen value, read once from ``settings.toml`` in the home."""

from __future__ import annotations

import math
import re
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import AfterValidator, Field, ValidationError, field_validator, model_validator

from recorder.errors import BadSettings
from recorder.model.base import Value
from recorder.model.calibration import Calibration
from recorder.model.measurement import Limit
from recorder.model.units import UNITS

Read = TypeVar("Read", bound=Value)

# Common practice, no source: a home sets its own.
_HOUSE = "house default, common practice, set your own"
# A sheet of paper on thin card, as the printed sheet asks for: common practice, no source.
CARD_THICKNESS_MM = 0.15

HOUSE_LIMITS = (
    Limit(name="finger_gap", high=0.5, source=_HOUSE),
    Limit(name="edge_offset", high=1.0, source=_HOUSE),
)


def _near_one(scale: tuple[float, float]) -> tuple[float, float]:
    if not all(0.9 < s < 1.1 for s in scale):
        raise ValueError("a print scale is true length / nominal length and lies near 1")
    return scale


def _one_each(limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    names = [limit.name for limit in limits]
    double = next((name for name in names if names.count(name) > 1), None)
    if double:
        raise ValueError(f"{double} has more than one limit; give low and high in one entry")
    return limits


def _from_to(span: tuple[float, float]) -> tuple[float, float]:
    if not 0 <= span[0] <= span[1] < math.inf:
        raise ValueError("give from and to in mm, the smaller first")
    return span


PrintScale = Annotated[tuple[float, float], AfterValidator(_near_one)]
Limits = Annotated[tuple[Limit, ...], AfterValidator(_one_each)]
Span = Annotated[tuple[float, float], AfterValidator(_from_to)]


class SpeechSettings(Value):
    """model: 'bundled', a model name that faster-whisper knows and that lies on this machine, or
    the path of a model folder. device: where it runs. threads: of the CPU. language: that is
    spoken.
    """

    model: str = "bundled"
    device: Literal["cpu", "cuda", "auto"] = "cpu"
    threads: int = Field(2, ge=1, le=64)
    language: Literal["en", "de"] = "en"


class SpeakingSettings(Value):
    """The voice of the recorder. engine: espeak-ng, piper, or none for a page that only shows.
    voice: by its name in espeak-ng, empty for one of the language that is spoken; for piper the
    file of the voice. program: of the engine, where it is not on the path. words_per_minute: for
    a loud hall rather slow.
    """

    engine: Literal["espeak-ng", "piper", "none"] = "espeak-ng"
    voice: str = ""
    program: str = ""
    words_per_minute: int = Field(150, ge=80, le=320)

    @model_validator(mode="after")
    def _voice_of_piper(self) -> SpeakingSettings:
        if self.engine == "piper" and not self.voice:
            raise ValueError("piper wants the file of a voice; give it as voice")
        return self


class BeltLimits(Value):
    """Limits for a type of belt. name: of the type, for people.
    belt_material: words that the told material contains, in any order and case.
    belt_thickness_mm, belt_width_mm: from and to, both included. A belt is of the type when all
    that is given here fits what was told of it.
    """

    name: str = Field(min_length=1)
    belt_material: str = ""
    belt_thickness_mm: Span | None = None
    belt_width_mm: Span | None = None
    limits: Limits = Field(min_length=1)

    @model_validator(mode="after")
    def _of_some_belt(self) -> BeltLimits:
        if not (self.belt_material.split() or self.belt_thickness_mm or self.belt_width_mm):
            raise ValueError("give belt_material, belt_thickness_mm or belt_width_mm")
        return self


class PhotoSettings(Value):
    """card_on: where the reference card lies. belt_thickness_mm: of a belt whose job does not say.
    card_thickness_mm: from what the card lies on up to its print.
    print_scale: true length / nominal length of the printed card in x and y, None if not measured.
    print_scale_size: the card that it was measured on, None for any.
    print_scales: of cards of other sizes, by size.
    limits: in force unless the job card or the type of the belt says otherwise.
    belt_limits: by type of belt; of several that fit, the first counts.
    """

    card_on: Literal["belt", "bench"] = "belt"
    belt_thickness_mm: float | None = Field(None, gt=0, le=50)
    card_thickness_mm: float = Field(CARD_THICKNESS_MM, ge=0, le=5)
    print_scale: PrintScale | None = None
    print_scale_size: str | None = None
    print_scales: dict[str, PrintScale] = {}
    limits: Limits = HOUSE_LIMITS
    belt_limits: tuple[BeltLimits, ...] = ()


READABLE_CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3


def contrast_on_white(colour: str) -> float:
    """Contrast ratio of a colour '#rrggbb' on white, 1 to 21 (WCAG 2.2, relative luminance)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 1.05 / (luminance + 0.05)


class ReportSettings(Value):
    """firm, address: of the service firm, for the head of the report. technician: signs it.
    units: the customer's unit by dimension, shown beside SI, e.g. {temperature = "degF"}.
    language: that the page is written in, and the marks of its numbers and dates: en, en_GB, de.
    timestamp_url: of the authority that stamps the time of a signature (RFC 3161); empty for none.
    paper: that the page is made for. logo: of the firm, PNG, JPEG or SVG; a relative path starts
    beside the settings. colours: of rules and headings, dark enough to be read on white, and
    optionally of the seam's second thread.
    """

    firm: str = ""
    address: str = ""
    technician: str = ""
    units: dict[str, str] = {}
    language: str = Field("en", pattern=r"^[a-z]{2,3}(_[A-Z][a-z]{3})?(_([A-Z]{2}|[0-9]{3}))?$")
    timestamp_url: str = ""
    paper: Literal["A4", "Letter"] = "A4"
    logo: Path | None = None
    colours: tuple[str, ...] = Field(("#0d5661", "#d98a2b"), min_length=1, max_length=2)

    @field_validator("timestamp_url")
    @classmethod
    def _of_the_web(cls, url: str) -> str:
        if url and not re.fullmatch(r"https?://[!-~]+", url):
            raise ValueError(f"{url!r} is no address that begins with http:// or https://")
        return url

    @field_validator("colours")
    @classmethod
    def _readable(cls, colours: tuple[str, ...]) -> tuple[str, ...]:
        for colour in colours:
            if not re.fullmatch(r"#[0-9a-fA-F]{6}", colour):
                raise ValueError(f"{colour!r} is not a colour; write it like #0d5661")
        contrast = contrast_on_white(colours[0])
        if contrast < READABLE_CONTRAST:
            raise ValueError(
                f"{colours[0]} is too light for text (contrast {contrast:.1f} on white, "
                f"{READABLE_CONTRAST} is needed); give it as the second colour"
            )
        return colours

    @field_validator("units")
    @classmethod
    def _of_that_dimension(cls, units: dict[str, str]) -> dict[str, str]:
        for dimension, unit in units.items():
            if unit not in UNITS or UNITS[unit].dimension != dimension:
                raise ValueError(f"{unit!r} is not a unit of {dimension}")
        return units


class TokenSettings(Value):
    """A key on a PKCS#11 token. module: path of the library that its maker ships. token: its label.
    label: of the key on it; empty where it holds one key only.
    """

    module: Path
    token: str = Field(min_length=1)
    label: str = ""


class IdentitySettings(Value):
    """email: of the technician, for a new certificate. pkcs12, pkcs11: the firm's own key, signing
    in place of one that is made here; a relative path starts in the home.
    """

    email: str = ""
    pkcs12: Path | None = None
    pkcs11: TokenSettings | None = None

    @model_validator(mode="after")
    def _one_key(self) -> IdentitySettings:
        if self.pkcs12 and self.pkcs11:
            raise ValueError("give pkcs12 or pkcs11, not both")
        return self


class ArchiveSettings(Value):
    """keep_recordings_days: how long the recordings of a job are kept, counted from its beginning;
    None for ever. Nothing goes by itself: 'seamnote archive redact --due' takes what is over it.
    """

    keep_recordings_days: int | None = Field(None, ge=1, le=36_500)


class ServingSettings(Value):
    """port: of the page; the guide for phones has the one above it. lan: whether private networks
    are served too.
    """

    port: int = Field(8750, ge=1, le=65_534)
    lan: bool = False


class MeasuredCard(Value):
    """What a caliper said of the printed card. print_scale: true / nominal length in x and y.
    others: the same of cards of other sizes that were measured before.
    """

    print_scale: PrintScale
    size: str
    measured_at: datetime
    others: dict[str, PrintScale] = {}


class Settings(Value):
    """trust: by the name of a speech model, how far its hearing can be trusted, where that was
    calibrated for this home.
    """

    speech: SpeechSettings = SpeechSettings()
    speaking: SpeakingSettings = SpeakingSettings()
    photo: PhotoSettings = PhotoSettings()
    report: ReportSettings = ReportSettings()
    identity: IdentitySettings = IdentitySettings()
    archive: ArchiveSettings = ArchiveSettings()
    serve: ServingSettings = ServingSettings()
    trust: dict[str, Calibration] = {}


CARD_FILE = "card.toml"


def load(path: Path) -> Settings:
    """Settings from a TOML file; the defaults when there is none. Raises BadSettings.

    Where the file has no print scale, the one counts that ``seamnote card --measured`` left in
    ``card.toml`` beside it.
    """
    settings = _read(path, Settings) or Settings()
    card = measured_card(path.with_name(CARD_FILE))
    if card and settings.photo.print_scale is None:
        photo = settings.photo.model_copy(
            update={
                "print_scale": card.print_scale,
                "print_scale_size": card.size,
                "print_scales": card.others,
            }
        )
        settings = settings.model_copy(update={"photo": photo})
    if settings.report.logo:
        report = settings.report.model_copy(update={"logo": path.parent / settings.report.logo})
        settings = settings.model_copy(update={"report": report})
    return settings


def measured_card(path: Path) -> MeasuredCard | None:
    """What ``seamnote card --measured`` left in a home, None when nothing. Raises BadSettings."""
    return _read(path, MeasuredCard)


def _read(path: Path, kind: type[Read]) -> Read | None:
    try:
        return kind.model_validate(tomllib.loads(path.read_text(encoding="utf-8-sig")))
    except FileNotFoundError:
        return None
    except ValidationError as error:
        raise BadSettings(path=path, detail=first_fault(error)) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadSettings(path=path, detail=str(error)) from error


def first_fault(error: ValidationError) -> str:
    """The first complaint of pydantic as 'place: what is wrong'."""
    fault = error.errors()[0]
    place = ".".join(str(part) for part in fault["loc"])
    if fault["type"] == "extra_forbidden":
        return f"there is no {place}"
    wrong = str(fault["msg"]).removeprefix("Value error, ")
    return f"{place}: {wrong}" if place else wrong
