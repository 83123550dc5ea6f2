"""What an utterance asks of the recorder, when it does; and what it tells besides.

A request is a whole sentence. The hearings vote on it: half of them must have it, and only what
all have alike, and nobody else may be meant with, is sure.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from recorder.model.base import Value
from recorder.model.transcript import Utterance, Word
from recorder.notes.requests.grammar import Asking, askings, is_filler
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.notes.words.lexer import Sort, Token, Tokens, tokens_of
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_ENDS = {".", "!", "?", ";"}
# A noise may be heard as one or two words, with less than this, and not alike in all hearings.
_HARDLY_HEARD = 0.1
_SHORT = 2  # words
# What may well be put as a question.
_QUESTIONS = {
    Ask.READ_BACK, Ask.MISSING, Ask.REPEAT, Ask.LAST_TIME, Ask.WHICH_TEMPLATE, Ask.DIFFERS,
    Ask.CUT_LENGTH, Ask.CHECKS, Ask.TREND,
}  # fmt: skip


class Asked(Value):
    """requests: in order. rest: the utterance without the sentences that ask, None when nothing is
    left of it.
    """

    requests: tuple[Request, ...] = ()
    rest: Utterance | None = None


def request(utterance: Utterance) -> Request | None:
    """The first request of an utterance."""
    found = asked(utterance).requests
    return found[0] if found else None


def asked(utterance: Utterance) -> Asked:
    """All requests of an utterance, with what is left of it."""
    hearings = [_heard(said) for said in _all_words(utterance)]
    votes = Counter(hearing.key for hearing in hearings if hearing.requests)
    if not votes:
        return Asked(rest=utterance)
    # The first hearing that has what most have.
    key = votes.most_common(1)[0][0]
    chosen = next(hearing for hearing in hearings if hearing.key == key)
    alike = sum(hearing.asks == chosen.asks for hearing in hearings)
    noise = chosen.short and alike < len(hearings) and _hardly_heard(utterance)
    if 2 * alike < len(hearings) or noise:
        return Asked(rest=utterance)
    agreed = all(hearing.key == key and hearing.sure for hearing in hearings)
    sure = {"sure": agreed and not _hardly_heard(utterance)}
    requests = tuple(one.model_copy(update=sure) for one in chosen.requests)
    return Asked(requests=requests, rest=_rest(utterance, hearings))


@dataclass(frozen=True)
class _Heard:
    """What one hearing asks. left: the words of the other sentences. short: it is no more than one
    or two words.
    """

    requests: tuple[Request, ...]
    left: tuple[Word, ...]
    short: bool

    @property
    def key(self) -> tuple[object, ...]:
        return tuple((r.ask, r.field, r.timer, r.seconds) for r in self.requests)

    @property
    def sure(self) -> bool:
        return all(one.sure for one in self.requests)

    @property
    def asks(self) -> tuple[Ask, ...]:
        return tuple(r.ask for r in self.requests)


@dataclass(frozen=True)
class _Sentence:
    """tokens: without signs. words: as heard. starts: of the words, as offsets like those of the
    tokens. asks: it ends with a question mark.
    """

    tokens: Tokens
    words: tuple[Word, ...]
    starts: tuple[int, ...]
    asks: bool

    @property
    def said(self) -> str:
        return " ".join(word.text for word in self.words)

    def text_from(self, place: int) -> str:
        """The words from tokens[place] on, without the sign at their end."""
        first = bisect_right(self.starts, self.tokens[place].start) - 1
        return " ".join(word.text for word in self.words[first:]).rstrip(" .!?;,")


def _heard(said: tuple[Word, ...]) -> _Heard:
    found: list[Request] = []
    left: list[Word] = []
    sentences = list(_sentences(said))
    alone = True
    before: Tokens = ()
    for sentence in sentences:
        asking = () if _is_reported(before) else askings(sentence.tokens)
        # "What is the conveyor? Conveyor is Sorter Two."
        answered = sentence.asks and sentence is not sentences[-1]
        if answered and any(one.ask in _QUESTIONS for one in asking):
            asking = ()
        before = sentence.tokens
        if asking:
            found += [r for one in asking for r in _requests(one, sentence)]
        else:
            left += sentence.words
            alone = alone and is_filler(sentence.tokens)
    if not alone:
        found = [one.model_copy(update={"sure": False}) for one in found]
    count = sum(len(sentence.tokens) for sentence in sentences)
    return _Heard(tuple(found), () if alone else tuple(left), count <= _SHORT)


def _requests(asking: Asking, sentence: _Sentence) -> Iterator[Request]:
    sure = not asking.indirect and not (sentence.asks and asking.ask not in _QUESTIONS)
    timed = asking.ask in (Ask.TIMER_START, Ask.TIMER_STOP)
    for field in asking.fields or (None,):
        yield Request(
            ask=asking.ask,
            said=sentence.said,
            field=field,
            timer=(asking.timer or Timer.OTHER) if timed else None,
            seconds=asking.seconds,
            text="" if asking.rest is None else sentence.text_from(asking.rest),
            sure=sure,
        )


def _sentences(said: tuple[Word, ...]) -> Iterator[_Sentence]:
    text = " ".join(word.text for word in said)
    starts = [0, *accumulate(len(word.text) + 1 for word in said)][: len(said)]
    sentence: list[Token] = []
    begin = 0
    for token in (*tokens_of(text), None):
        if token is not None and token.text not in _ENDS:
            sentence.append(token)
            continue
        last = bisect_right(starts, token.start) if token else len(said)
        if last > begin:
            plain = tuple(t for t in sentence if t.sort is not Sort.SIGN)
            question = token is not None and token.text == "?"
            yield _Sentence(plain, said[begin:last], tuple(starts[begin:last]), question)
        sentence, begin = [], max(begin, last)


def _all_words(utterance: Utterance) -> tuple[tuple[Word, ...], ...]:
    return (utterance.words, *(other.words for other in utterance.others))


def _hardly_heard(utterance: Utterance) -> bool:
    said = [word.probability for word in utterance.words]
    return any(probability is not None and probability < _HARDLY_HEARD for probability in said)


def _is_reported(before: Tokens) -> bool:
    """Whether the sentence before tells that somebody said what follows."""
    hits = _reporting().all(before)
    return bool(hits) and hits[-1].end == len(before)


@kept
def _reporting() -> Phrases[str]:
    return Phrases((phrase, phrase) for phrase in words("requests", "reporting"))


def _rest(utterance: Utterance, hearings: list[_Heard]) -> Utterance | None:
    first, *others = (hearing.left for hearing in hearings)
    if not first:
        return None
    told = tuple(
        other.model_copy(update={"words": left})
        for other, left in zip(utterance.others, others, strict=True)
    )
    return utterance.model_copy(update={"words": first, "others": told})
