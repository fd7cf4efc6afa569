"""What holds for several zones, said once with the numbers of those zones."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from reports.domain.audit_summary import ZoneSummary
from reports.domain.audit_wording import is_overwatered, is_underwatered

_NUMBER: Final = re.compile(r"(\d+(?:[.,]\d+)*)")
_WET: Final = "Ground that stays wet favours disease."
_DRY: Final = "Plants kept short of water more often suffer from insects."


@dataclass(frozen=True)
class SharedNote:
    """One remark and the zones it is made of."""

    zones: tuple[int, ...]
    text: str

    @property
    def place(self) -> str:
        """The zones in words."""
        word = "Zone" if len(self.zones) == 1 else "Zones"
        return f"{word} {_listed([str(number) for number in self.zones])}"


def shared_notes(zones: Sequence[ZoneSummary]) -> tuple[SharedNote, ...]:
    """Return what the water of the zones favours, then the advice of their tests.

    Sentences that differ in a single figure become one that lists the figures in the order of the
    zones.

    References
    ----------
    Too much water brings disease, too little most often insects: common practice. It is said as
    what conditions favour, never as a diagnosis.
    """
    return (*_favoured(zones), *_advice(zones))


def _favoured(zones: Sequence[ZoneSummary]) -> Iterator[SharedNote]:
    for holds, text in ((is_overwatered, _WET), (is_underwatered, _DRY)):
        concerned = tuple(zone.number for zone in zones if holds(zone.supply_ratio))
        if concerned:
            yield SharedNote(concerned, text)


def _advice(zones: Sequence[ZoneSummary]) -> list[SharedNote]:
    groups: list[list[tuple[int, str]]] = []
    for said in ((zone.number, sentence) for zone in zones for sentence in zone.advice):
        group = next((each for each in groups if _can_join(each, said)), None)
        if group is None:
            groups.append([said])
        else:
            group.append(said)
    return [SharedNote(tuple(number for number, _ in group), _merged(group)) for group in groups]


def _can_join(group: Sequence[tuple[int, str]], said: tuple[int, str]) -> bool:
    """Tell whether zone and sentence fit a group: a new zone, and at most one figure differs."""
    if said[0] in {number for number, _ in group}:
        return False
    sentences = [*(sentence for _, sentence in group), said[1]]
    if len({_NUMBER.sub("", sentence) for sentence in sentences}) > 1:
        return False
    return sum(len(set(parts)) > 1 for parts in _columns(sentences)) <= 1


def _merged(group: Sequence[tuple[int, str]]) -> str:
    parts = _columns([sentence for _, sentence in group])
    text = "".join(each[0] if len(set(each)) == 1 else _listed(each) for each in parts)
    return text if len(group) == 1 else text.replace("this test has", "these tests have")


def _columns(sentences: Sequence[str]) -> list[tuple[str, ...]]:
    """Lay sentences of one wording side by side: words, figure, words, ..."""
    return list(zip(*(_NUMBER.split(sentence) for sentence in sentences), strict=True))


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
