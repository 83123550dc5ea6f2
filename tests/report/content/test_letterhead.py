"""The firm's name, logo and colours."""

from pathlib import Path

import pytest
from PIL import Image

from recorder.errors import BadLogo, BadSettings
from recorder.report.content.letterhead import letterhead, logo
from recorder.report.content.pictures import PictureTray
from recorder.settings import ReportSettings, contrast_on_white, load

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 4">{}</svg>'


def test_without_settings_the_signer_heads_the_report(tmp_path: Path) -> None:
    tray = PictureTray(tmp_path)
    assert letterhead(ReportSettings(), "Imke Dorn", tray).firm == "Imke Dorn"
    assert letterhead(ReportSettings(), "", tray).firm == "Splice service"
    assert tray.files == {}


@pytest.mark.parametrize("kind", ["png", "jpg", "svg"])
def test_a_logo_is_shown(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"logo.{kind}"
    if kind == "svg":
        path.write_text(SVG.format("<title>Q</title><path d='M0 0H4V4Z' fill='#123456'/>"))
    else:
        Image.new("RGB", (3000, 400), (20, 90, 160)).save(path)
    tray = PictureTray(tmp_path)
    head = letterhead(ReportSettings(firm="Quillback", logo=path), "", tray)
    assert head.logo_alt == "Logo of Quillback"
    assert list(tray.files) == [head.logo]
    assert len(tray.files[head.logo]) < 20_000


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("gone.png", None, "No such file"),
        ("logo.png", b"not a picture", "no whole PNG, JPEG or SVG"),
        ("logo.gif", b"GIF89a" + bytes(20), "no whole PNG, JPEG or SVG"),
        ("logo.svg", b"<svg", "cannot be read"),
        ("logo.svg", b"<html/>", "is no SVG"),
        ("logo.svg", SVG.replace('viewBox="0 0 4 4"', "").encode(), "neither viewBox nor width"),
        ("logo.svg", SVG.format("<text>Q</text>").encode(), "uses <text>"),
        ("logo.svg", SVG.format("<image href='http://x/y.png'/>").encode(), "uses <image>"),
        ("logo.svg", SVG.format("<script>1</script>").encode(), "uses <script>"),
        ("logo.svg", SVG.format("<path style='fill:url(http://x/y)'/>").encode(), "outside of it"),
        ("logo.svg", SVG.format("<style>@import 'x.css'</style>").encode(), "outside of it"),
        ("logo.svg", b"<!DOCTYPE svg [<!ENTITY a 'b'>]>" + SVG.encode(), "entities"),
        ("logo.svg", SVG.format(" " * 500_000).encode(), "larger than 400 kB"),
        ("logo.png", bytes(5_000_000), "larger than 4 MB"),
    ],
)
def test_a_logo_that_cannot_be_shown_is_one_line(
    tmp_path: Path, name: str, content: bytes | None, told: str
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadLogo) as caught:
        logo(path)
    assert str(path) in str(caught.value)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 3


def test_a_logo_lies_beside_the_settings(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('[report]\nlogo = "mark.svg"\ncolours = ["#7a1f3d"]\npaper = "Letter"\n')
    report = load(path).report
    assert (report.logo, report.colours) == (tmp_path / "mark.svg", ("#7a1f3d",))


@pytest.mark.parametrize(
    ("colours", "told"),
    [
        ('["red"]', "write it like #0d5661"),
        ('["#ffdd00"]', "too light for text (contrast 1.3 on white, 4.5 is needed)"),
        ("[]", "colours"),
        ('["#000000", "#111111", "#222222"]', "colours"),
    ],
)
def test_colours_that_cannot_be_read_are_refused(tmp_path: Path, colours: str, told: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(f"[report]\ncolours = {colours}\n")
    with pytest.raises(BadSettings) as caught:
        load(path)
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("colour", "contrast"), [("#000000", 21.0), ("#ffffff", 1.0), ("#767676", 4.54)]
)
def test_contrast_is_that_of_wcag(colour: str, contrast: float) -> None:
    """#767676 is the lightest grey that passes AA on white (WebAIM, contrast checker)."""
    assert contrast_on_white(colour) == pytest.approx(contrast, abs=0.01)
