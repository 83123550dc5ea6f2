"""The commands that work without a job: their JSON, their files and their exit codes."""

import io
import re
import shutil
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from recorder.resources import shipped
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from tests.cli.command import seamnote
from tests.voice.sound import write

DEMO = shipped("demo_media") / "job"
ENTRY = {"value", "unit", "standing", "said", "start_s", "end_s", "why"}
NARRATION = """\
Job number 4817 for Larkfield Bakery. Belt width 70 mm.
First splice is rejected.
Second splice. Pressure thirty-two psi. Both platens 172 degrees Celsius.
Dwell three minutes. No bubbles. Second splice is accepted.
The guard rail rattles.
"""


def test_extract_gives_the_object_of_the_design(tmp_path: Path) -> None:
    (tmp_path / "told.txt").write_text(NARRATION)
    ran = seamnote("extract", "told.txt", "--json", cwd=tmp_path)
    assert ran.code == 0, ran.out
    (found,) = ran.objects
    assert found.keys() >= {"file", "fields", "splices", "history", "notes"}
    assert found["file"] == "told.txt"
    assert all(entry.keys() >= ENTRY for entry in found["fields"].values())
    assert found["fields"]["pressure"]["value"] == pytest.approx(2.2063, abs=1e-4)
    assert found["fields"]["pressure"]["unit"] == "bar"
    assert found["fields"]["bubbles"] | {"why": ""} == found["fields"]["bubbles"]
    assert (found["fields"]["bubbles"]["value"], found["fields"]["bubbles"]["unit"]) == (
        False,
        None,
    )
    assert found["fields"]["dwell_time"]["value"] == 180
    first, second = found["splices"]
    assert first["fields"]["outcome"]["value"] == "rejected"
    assert second["fields"]["outcome"]["value"] == "accepted"
    assert second["runs"][0]["fields"]["bottom_temperature"]["value"] == 172
    assert any("guard rail" in note["text"] for note in found["notes"])


def test_extract_takes_several_files_and_standard_input(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("Pressure 2 bar.")
    ran = seamnote("extract", "a.txt", "-", "--json", cwd=tmp_path, stdin="Dwell four minutes.")
    first, second = ran.objects
    assert (first["file"], second["file"]) == ("a.txt", "-")
    assert second["fields"]["dwell_time"]["value"] == 240


def test_extract_from_sound_has_times(tmp_path: Path) -> None:
    begin = decode(DEMO / "narration.flac")[: 45 * SAMPLE_RATE_HZ]
    sound = write(tmp_path / "begin.flac", begin, SAMPLE_RATE_HZ)
    ran = seamnote("extract", sound, "--json", cwd=tmp_path)
    assert ran.code == 4  # belt width: seventeen or seventy?
    pressure = ran.objects[0]["fields"]["pressure"]
    assert 30 < pressure["start_s"] < pressure["end_s"] < 40
    assert "32" in pressure["said"]


def test_extract_with_a_question(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("one seventy two")
    ran = seamnote("extract", "--asked", "top_temperature", "a.txt", "--json", cwd=tmp_path)
    assert ran.objects[0]["fields"]["top_temperature"]["value"] == 172


def test_quantities_answers_every_line(tmp_path: Path) -> None:
    text = "set 2.2 bar and 350 degF\nnothing here\nhalf an inch\n"
    ran = seamnote("quantities", cwd=tmp_path, stdin=text)
    first, second, third = ran.objects
    assert [(q["value"], q["unit"]) for q in first] == [(2.2, "bar"), (350, "degF")]
    assert [text.splitlines()[0][q["start"] : q["end"]] for q in first] == ["2.2 bar", "350 degF"]
    assert second == []
    assert [(q["value"], q["unit"]) for q in third] == [(0.5, "inch")]


def test_transcribe_gives_words_with_times_and_probabilities(tmp_path: Path) -> None:
    ran = seamnote("transcribe", DEMO / "narration.flac", "--json", cwd=tmp_path)
    assert ran.code == 0
    (found,) = ran.objects
    words = [word for utterance in found["utterances"] for word in utterance["words"]]
    assert len(words) > 100
    assert all(word.keys() >= {"text", "start_s", "end_s", "probability"} for word in words)
    assert found["text"].startswith("Job number 4817")


def test_card_as_picture_and_page_at_true_size(tmp_path: Path) -> None:
    ran = seamnote("card", "--png", "card.png", "--pdf", "card.pdf", "--json", cwd=tmp_path)
    assert ran.code == 0, ran.err
    (card,) = ran.objects
    assert card.keys() == {"size", "size_mm", "splice_centre_mm", "belt_axis"}
    with Image.open(tmp_path / "card.png") as art:
        dpi = art.info["dpi"]
        for pixels, dots, size_mm in zip(art.size, dpi, card["size_mm"], strict=True):
            assert pixels / dots * 25.4 == pytest.approx(size_mm, abs=0.1)
        x, y = (round(c / 25.4 * d) for c, d in zip(card["splice_centre_mm"], dpi, strict=True))
        assert art.convert("RGBA").getpixel((x, y))[3] == 0  # type: ignore[index]
    page = PdfReader(io.BytesIO((tmp_path / "card.pdf").read_bytes())).pages[0]
    assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(210, abs=0.2)


def test_measure_gives_the_object_of_the_design_and_two_pictures(tmp_path: Path) -> None:
    photo = DEMO / "photo_1_rejected.jpg"
    ran = seamnote("measure", photo, "--print-scale", "1,1", "--json", cwd=tmp_path)
    assert ran.code == 4  # outside limits
    (found,) = ran.objects
    names = {"file", "status", "reason", "gap_max", "gap_mean", "splice_width", "belt_width",
             "edge_offset", "skew", "finger_count", "finger_pitch", "scale_px_per_mm", "decision",
             "overlay"}  # fmt: skip
    assert found.keys() >= names
    assert (found["status"], found["decision"]) == ("measured", "outside")
    assert found["gap_max"].keys() == {"value", "unit", "U", "k", "below"}
    for name in ("overlay", "plot"):
        with Image.open(found[name]) as image:
            assert min(image.size) > 500


def alone(name: str, folder: Path) -> Path:
    """A photo of the demo without its job card beside it."""
    return Path(shutil.copy(DEMO / name, folder))


def test_print_scale_and_limits_of_the_command_line_count(tmp_path: Path) -> None:
    photo = alone("photo_3_accepted.jpg", tmp_path)
    loose = seamnote("measure", photo, "--json", cwd=tmp_path).objects[0]["splice_width"]
    (tmp_path / "l.json").write_text('[{"name": "splice_width", "low": 71, "source": "rule 9"}]')
    ran = seamnote(
        "measure", photo, "--print-scale", "1.002,1.002", "--limits", "l.json", "--json",
        cwd=tmp_path,
    )  # fmt: skip
    tight = ran.objects[0]["splice_width"]
    assert tight["U"] < loose["U"]
    assert tight["value"] == pytest.approx(1.002 * loose["value"], rel=3e-4)
    assert (ran.code, ran.objects[0]["decisions"]) == (4, {"splice_width": "outside"})
    assert [limit["source"] for limit in ran.objects[0]["limits"]] == ["rule 9"]


def test_the_measured_card_is_kept_and_used(tmp_path: Path) -> None:
    for wrong in ("100", "100,99,98", "100,abc", "100,50"):
        ran = seamnote("card", "--measured", wrong, cwd=tmp_path)
        assert ran.code == 2
        assert "caliper reading" in ran.complains_once()
    ran = seamnote("card", "--measured", "100.12,99.90", "--json", cwd=tmp_path)
    assert ran.objects[0]["print_scale"] == [1.0012, 0.999]
    photo = alone("photo_3_accepted.jpg", tmp_path)
    found = seamnote("measure", photo, "--json", cwd=tmp_path).objects[0]
    assert found["splice_width"]["value"] == pytest.approx(70.0, abs=0.05)
    assert found["decision"] == "within"


def test_doctor_tells_what_is_here_and_what_is_not(tmp_path: Path) -> None:
    good = seamnote("doctor", "--json", cwd=tmp_path)
    assert good.code == 0, good.out
    names = [finding["name"] for finding in good.objects]
    assert "speech model (bundled)" in names
    details = {finding["name"]: finding["detail"] for finding in good.objects}
    assert details["trust in what is heard"] == "calibrated for tiny.en"
    assert "report pages" in names
    assert details["language of the report"] == "en"
    (tmp_path / "home" / "settings.toml").write_text(
        '[speech]\nmodel = "small.en"\n[report]\nlanguage = "de"\n'
    )
    wording = tmp_path / "home" / "report_templates" / "wording"
    wording.mkdir(parents=True)
    (wording / "de.po").write_text('msgid "Job {number}"\nmsgstr "Auftrag"\n')
    bad = seamnote("doctor", cwd=tmp_path)
    assert bad.code == 4
    assert re.search(r"MISSING  language of the report +\S+de\.po, line 1: 'Auftrag' must", bad.out)
    assert "MISSING  speech model (small.en)" in bad.out
    assert "download_model('small.en')" in bad.out
