"""The wrapper over faster-whisper: its Whisper decoding.

Each stretch of sound is encoded once and decoded in several ways: with a prompt of likely words and
without, freely and with every digit forbidden so that numbers come out as words. A number on which
ways agree is no slip of the spelling and no echo of the prompt, and a further decoding costs little
after the encoder has run. The ways are decoded side by side, each on one thread: a small model's
decoder is slower on two, and its results are the same.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from recorder.errors import EngineMissing
from recorder.model.transcript import Word
from recorder.settings import SpeechSettings
from recorder.voice import bundled
from recorder.voice.audio import SAMPLE_RATE_HZ, Samples

WINDOW_S = 30.0  # what Whisper's encoder takes at once

# A person does not say more than this; noise can make the decoder repeat itself for ever.
_TOKENS_PER_SECOND = 8
_TOKENS_AT_LEAST = 24
_BEAM = 5
# A larger model is kept once in memory, and its decoder takes all threads.
_TWICE_BYTES = 200_000_000
# A loop is cut when up to this many tokens come back so often, and a single one still more often.
_LONGEST_PERIOD = 12
_REPEATS = 4
_SHORT_LOOP = 3
# Of a model that was not checked; faster-whisper would fetch a tokenizer that is not there.
_NEEDED = ("model.bin", "config.json", "tokenizer.json")


@dataclass(frozen=True)
class Way:
    """How to decode. prompted: with the likely words. digits: allowed, or numbers as words."""

    name: str
    prompted: bool
    digits: bool


WAYS = (
    Way("free", prompted=True, digits=True),
    Way("in words", prompted=True, digits=False),
    Way("unprompted", prompted=False, digits=True),
    Way("unprompted in words", prompted=False, digits=False),
)


@dataclass(frozen=True)
class Decoding:
    """One way of hearing. words: with times from the start of the sound that was given.
    no_speech: 0..1.
    """

    way: str
    words: tuple[Word, ...]
    no_speech: float


class Recogniser:
    """A loaded model. name: as it stands in a transcript."""

    def __init__(self, name: str, folder: Path, settings: SpeechSettings) -> None:
        from faster_whisper.tokenizer import Tokenizer
        from faster_whisper.transcribe import get_suppressed_tokens

        self.name = name
        workers = _workers(folder, settings)
        try:
            self._model: Any = _opened(folder, settings, threads=settings.threads)
            self._decoder: Any = (
                _opened(folder, settings, threads=1, workers=workers)
                if workers > 1
                else self._model
            )
        except (RuntimeError, ValueError, OSError) as error:
            raise EngineMissing(
                engine=f"the speech model {name}",
                detail=str(error),
                install="check speech.model and speech.device in settings.toml",
            ) from error
        self._pool = ThreadPoolExecutor(workers, "decode")
        self._tokenizer: Any = Tokenizer(
            self._model.hf_tokenizer,
            self._model.model.is_multilingual,
            "transcribe",
            settings.language,
        )
        if settings.language != "en" and not self._model.model.is_multilingual:
            raise EngineMissing(
                engine=f"the speech model {name}",
                detail=f"it understands English alone, and speech.language is {settings.language}",
                install="set speech.model in settings.toml to a model of many languages",
            )
        self._never = list(get_suppressed_tokens(self._tokenizer, [-1]))
        vocabulary: dict[str, int] = self._model.hf_tokenizer.get_vocab()
        self._digits = [
            token
            for piece, token in vocabulary.items()
            if token < self._tokenizer.eot and any(char.isdigit() for char in piece)
        ]

    def hear(self, samples: Samples, prompt: str) -> tuple[Decoding, ...]:
        """All decodings of ``listen``, once they are there."""
        return tuple(self.listen(samples, prompt))

    def listen(self, samples: Samples, prompt: str) -> Iterator[Decoding]:
        """Decode at most 30 s of sound, shape (n,), in each of ``WAYS``; the first comes first, so
        that its text can be shown while the others are still made.

        ``prompt`` holds words that are likely to be said ('' for none, and then the ways without
        a prompt are left out). It must be free of digits, because numbers in a prompt leak into
        the result.
        """
        from faster_whisper.audio import pad_or_trim

        features = self._model.feature_extractor(samples)
        frames = min(features.shape[-1] - 1, self._model.feature_extractor.nb_max_frames)
        encoded = self._model.encode(pad_or_trim(features[..., :frames]))
        limit = int(_TOKENS_AT_LEAST + _TOKENS_PER_SECOND * samples.size / SAMPLE_RATE_HZ)
        decoding = [
            self._pool.submit(self._decode, way, encoded, frames, prompt, limit)
            for way in WAYS
            if way.prompted or prompt
        ]
        try:
            for one in decoding:
                yield one.result()
        finally:  # who has heard enough does not wait for the rest
            for one in decoding:
                one.cancel()

    def _decode(self, way: Way, encoded: Any, frames: int, prompt: str, limit: int) -> Decoding:
        before = self._tokenizer.encode(" " + prompt.strip()) if way.prompted and prompt else []
        tokens = self._decoder.get_prompt(self._tokenizer, before, without_timestamps=True)
        result = self._decoder.model.generate(
            encoded,
            [tokens],
            beam_size=_BEAM,
            max_length=min(len(tokens) + limit, self._decoder.max_length),
            return_no_speech_prob=True,
            suppress_blank=True,
            suppress_tokens=self._never if way.digits else self._never + self._digits,
        )[0]
        text = without_loop([t for t in result.sequences_ids[0] if t < self._tokenizer.eot])
        return Decoding(way.name, self._place(encoded, frames, text), result.no_speech_prob)

    def _place(self, encoded: Any, frames: int, text: list[int]) -> tuple[Word, ...]:
        """Words with their times, by the model's own cross-attention alignment."""
        from faster_whisper.transcribe import merge_punctuations

        if not text:
            return ()
        alignment = self._decoder.find_alignment(self._tokenizer, [text], encoded, frames)[0]
        merge_punctuations(alignment, "\"'“¿([{-", "\"'.。,，!！?？:：”)]}、")
        words: list[Word] = []
        for piece in alignment:
            word = Word(
                text=piece["word"].strip(),
                start_s=round(float(piece["start"]), 2),
                end_s=round(float(piece["end"]), 2),
                probability=round(float(piece["probability"]), 4),
            )
            if words and not piece["word"].startswith(" "):
                word = _joined(words.pop(), word)  # "seventy" + "-five", "2" + ".25"
            if word.text:
                words.append(word)
        return tuple(words)


def _workers(folder: Path, settings: SpeechSettings) -> int:
    """How many ways are decoded at once."""
    small = (folder / "model.bin").stat().st_size < _TWICE_BYTES
    return min(settings.threads, len(WAYS)) if small and settings.device == "cpu" else 1


def _opened(folder: Path, settings: SpeechSettings, threads: int, workers: int = 1) -> Any:
    from faster_whisper import WhisperModel

    return WhisperModel(
        str(folder),
        device=settings.device,
        compute_type="default" if settings.device == "cuda" else "int8",
        cpu_threads=threads,
        num_workers=workers,
        local_files_only=True,
    )


def without_loop(tokens: list[int]) -> list[int]:
    """The tokens up to where they only repeat themselves, as a decoder does that has lost the
    speech; a person does not say the same thing so often.
    """
    for period in range(1, _LONGEST_PERIOD + 1):
        run = 0  # how many tokens in a row are as the one a period before
        for place in range(period, len(tokens)):
            run = run + 1 if tokens[place] == tokens[place - period] else 0
            if run >= period * (_REPEATS - 1) + _SHORT_LOOP:
                return tokens[: place - run + 1]
    return tokens


def _joined(left: Word, right: Word) -> Word:
    return Word(
        text=left.text + right.text,
        start_s=left.start_s,
        end_s=right.end_s,
        probability=min(left.probability or 0.0, right.probability or 0.0),
    )


@functools.lru_cache(maxsize=1)
def load(settings: SpeechSettings) -> Recogniser:
    """The recogniser that the settings name. Raises EngineMissing or ModelDamaged."""
    name, folder = _locate(settings)
    return Recogniser(name, folder, settings)


def describe(settings: SpeechSettings) -> str:
    """Which model ``load`` would use and where it lies; checked, but not loaded."""
    name, folder = _locate(settings)
    return f"{name} in {folder}"


def model_name(settings: SpeechSettings) -> str:
    """The name of that model, as it stands in transcripts."""
    return _locate(settings)[0]


def _locate(settings: SpeechSettings) -> tuple[str, Path]:
    if settings.model == "bundled":
        return bundled.NAME, bundled.folder()
    folder = Path(settings.model).expanduser()
    name = folder.name if folder.is_dir() else settings.model
    if not folder.is_dir():
        folder = _on_this_machine(settings.model)
    for file in _NEEDED:
        if not (folder / file).is_file():
            raise EngineMissing(
                engine=f"the speech model {name}",
                detail=f"{folder} holds no {file}",
                install=f"put {', '.join(_NEEDED)} there, or correct speech.model in settings.toml",
            )
    return name, folder


def _on_this_machine(name: str) -> Path:
    """Folder of a model known by name, if it was downloaded before; nothing is fetched."""
    from faster_whisper import download_model

    try:
        return Path(download_model(name, local_files_only=True))
    except (ValueError, OSError) as error:
        fetch = f"python -c \"import faster_whisper; faster_whisper.download_model('{name}')\""
        raise EngineMissing(
            engine=f"the speech model {name}",
            detail="it is not on this machine",
            install=f"fetch it once while online: {fetch}",
        ) from error


def engine_version() -> str:
    return version("faster-whisper")
