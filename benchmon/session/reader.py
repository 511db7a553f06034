"""Reads a session file, plain or packed: whole, or gone through once with no more than a piece of it in memory.

Only ``SessionFormatError`` leaves it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from math import inf
from operator import lt
from pathlib import Path

from benchmon.errors import SessionFormatError
from benchmon.model.records import Damage, Mark, Record, Sample, Session, SessionEnd, SessionHeader
from benchmon.session.chunks import CutPackError, chunks, line_blocks
from benchmon.session.lines import MAX_LINE_BYTES, LineDecoder, Numbered
from benchmon.session.order import out_of_order
from benchmon.session.sample_lines import BEGIN

Block = list[Numbered]
_TIMED = frozenset((Sample, SessionEnd))


def read_session(path: Path) -> Session:
    """The whole session; what is damaged is left out and named in ``damage``.

    A file that was cut opens like any other: it lacks its end record, and if its last line is a half one it says so.

    Raises:
        SessionFormatError: if it cannot be opened or its first line is no header that this version can read.
    """
    passage = Passage(path)
    records = tuple(chain.from_iterable(passage.blocks()))
    return Session(passage.header, records, passage.damage)


class StoredSession:
    """A session that stays in its file: each use of ``records`` goes through the file again.

    Args:
        path: the file.
        watch: is told what share of the file was gone through.

    Raises:
        SessionFormatError: as ``read_session``, here and while records are taken.
    """

    def __init__(self, path: Path, watch: Callable[[float], None] | None = None) -> None:
        """Find the header and what is recorded besides samples."""
        passage = Passage(path, without_samples=True)
        self.path = path
        self._watch = watch
        found = chain.from_iterable(passage.blocks())
        self.others: tuple[Record, ...] = tuple(record for record in found if record.__class__ is not Sample)
        """All records but the samples, in their order."""
        self.header: SessionHeader = passage.header
        self.damage: tuple[Damage, ...] = ()
        """What was wrong with the file; known when ``records`` have been gone through."""

    @property
    def records(self) -> Iterator[Record]:
        """All records after the header, as ``Session.records``."""
        passage = Passage(self.path, watch=self._watch)
        for block in passage.blocks():
            yield from block
        self.damage = passage.damage


class Passage:
    """Goes through a session file once.

    Args:
        path: the file.
        without_samples: look at the other records only, which takes a twentieth of the time. Samples before the end
            record are then neither checked nor counted as damage.
        watch: is told what share of the file was gone through.
    """

    def __init__(
        self, path: Path, *, without_samples: bool = False, watch: Callable[[float], None] | None = None
    ) -> None:
        self._path = path
        self._decoder = LineDecoder(str(path))
        self._without_samples = without_samples
        self._watch = watch
        self._late_damage: list[Damage] = []

    @property
    def header(self) -> SessionHeader:
        """The session's header.

        Raises:
            SessionFormatError: if the file is empty.
        """
        if self._decoder.header is None:
            raise SessionFormatError(f"{self._path} is empty: nothing was recorded.", "It can be deleted.")
        return self._decoder.header

    @property
    def damage(self) -> tuple[Damage, ...]:
        """What was wrong with the lines so far."""
        return tuple(sorted((*self._decoder.damage, *self._late_damage), key=lambda each: each.line))

    def blocks(self) -> Iterator[list[Record]]:
        """The records after the header, some thousands at once, those out of order left out.

        Raises:
            SessionFormatError: if it cannot be read or is no session.
        """
        for block in self._in_order(self._until_end(self._decoded())):
            yield [record for _, record in block]
        _ = self.header

    def _decoded(self) -> Iterator[Block]:
        decoder = self._decoder
        try:
            for lines, is_last in line_blocks(chunks(self._path, self._watch)):
                if is_last:
                    yield self._last(lines[0])
                    continue
                if decoder.header is None:  # by itself, so that the samples of a short file can be passed over too
                    decoder.feed_many(lines[:1])
                    del lines[0]
                is_short = self._without_samples and not decoder.has_end
                block = decoder.feed_many(_without_samples(lines) if is_short else lines)
                yield block
        except CutPackError:
            decoder.lose_rest("the packed file ends here or is damaged; what follows cannot be unpacked")

    def _last(self, line: bytes) -> Block:
        """A last line without its end: whole by luck, or cut."""
        decoder = self._decoder
        if len(line) >= MAX_LINE_BYTES:
            decoder.skip_long()
            return []
        record = decoder.feed_last(line)
        return [] if record is None or record is decoder.header else [(decoder.line, record)]

    def _until_end(self, blocks: Iterable[Block]) -> Iterator[Block]:
        """The records up to the end record, after the marks that were entered later; what else follows is damage."""
        after: Block = []
        is_over = False
        for block in blocks:
            if not self._decoder.has_end:
                yield block
            elif not is_over:
                at = next(at for at, (_, record) in enumerate(block) if record.__class__ is SessionEnd)
                yield block[:at]
                is_over = True
                after = block[at:]
            elif len(after) < 2 or after[-1][1].__class__ is Mark:
                after += block
        if after:
            late = _late_marks(after[1:], self._decoder.second_header_line)
            problem = "records follow the end of the recording; they are left out"
            self._late_damage += [Damage(line, problem) for line, _ in after[1 + len(late) :][:1]]
            yield [*late, after[0]]

    def _in_order(self, blocks: Iterable[Block]) -> Iterator[Block]:
        """The records without samples whose time does not fit their neighbours (a damaged digit), which are damage."""
        last_s, held = -inf, list[Numbered]()
        for block in chain(blocks, [None]):
            held += block or []
            timed = [at for at, (_, record) in enumerate(held) if record.__class__ in _TIMED]
            # Whether a time fits shows when its two successors are known.
            sure = len(timed) if block is None else max(len(timed) - 2, 0)
            until = len(held) if sure == len(timed) else timed[sure]
            times = [held[at][1].t_s for at in timed]  # type: ignore[union-attr]
            if not sure or (last_s < times[0] and all(map(lt, times, times[1:]))):
                last_s = times[sure - 1] if sure else last_s
                yield held[:until]
            else:
                bad = {index for index in out_of_order(times, last_s) if index < sure}
                kept = [times[index] for index in range(sure) if index not in bad]
                last_s = kept[-1] if kept else last_s
                wrong = {timed[index] for index in bad if held[timed[index]][1].__class__ is Sample}
                problem = "the time of this sample does not fit its neighbours"
                self._late_damage += [Damage(held[at][0], problem) for at in sorted(wrong)]
                yield [each for at, each in enumerate(held[:until]) if at not in wrong]
            held = held[until:]


def _without_samples(lines: list[bytes]) -> list[bytes]:
    """The other lines; from an end record on all of them, because of what may follow it."""
    ends = (at for at, line in enumerate(lines) if line.startswith(b'{"record":"end"'))
    end = next(ends, len(lines))
    return [line for line in lines[:end] if line[:5] != BEGIN] + lines[end:]


def _late_marks(after_end: list[Numbered], joined_line: int) -> list[Numbered]:
    """Marks right after the end record; those of another file that was joined come after its header.

    Their numbers may repeat: two people may have entered something at once, and both entries count.
    """
    late: list[Numbered] = []
    for line, record in after_end:
        if not isinstance(record, Mark) or 0 < joined_line < line:
            break
        late.append((line, record))
    return late
