"""New rows among those the fixture has: what is new, what is known, what was measured again.

Knows rows and the fixture; estimates nothing and writes nothing.

    same id, same row         already in the file, nothing changes
    same id, another          measured again: the new row replaces the old
    new id, known print       one cut may by chance read like another: it is taken and asked about;
                              two or more, all found among the cuts of one earlier date, are the
                              same readings under a new date and are refused

Two gaps to 0.01 mm equal those of another day by chance in 0.3 % of honest shops, three in
0.05 %; one in 4 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import attrs

from jointgeo.calibration.rows import Rows
from jointgeo.errors import InputError, Problem
from jointgeo.fixtures.calibrated import stated_rows
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AxisCut, KerfCut, LeadCut, short_name

__all__ = ["Taken", "take"]

R = TypeVar("R", AxisCut, KerfCut, LeadCut)
REFUSED_FROM = 2  # readings alike that are taken for the same ones read twice; our choice


@attrs.frozen
class Taken:
    """fixture: with the rows, its corrections not yet worked out again. new, replaced, known: ids.
    alike: (new id, earlier id) of rows that read the same."""

    fixture: Fixture
    new: tuple[str, ...]
    replaced: tuple[str, ...]
    known: tuple[str, ...]
    alike: tuple[tuple[str, str], ...]

    @property
    def changed(self) -> bool:
        return bool(self.new or self.replaced)

    @property
    def notes(self) -> tuple[str, ...]:
        """The same in sentences."""
        out = []
        if self.known:
            what = "these" if len(self.known) > 1 else "this"
            out.append(
                f"already in the file, and {what} changed nothing: "
                + ", ".join(short_name(i) for i in self.known)
            )
        out += [
            f"{short_name(i)} was measured again: its new reading counts" for i in self.replaced
        ]
        out += [
            f"{short_name(new)} reads exactly like {old}: if it is the same cut, give it that date "
            "and name"
            for new, old in self.alike
        ]
        return tuple(out)


def take(fixture: Fixture, rows: Rows, *, again: bool = False) -> Taken:
    """The fixture with these rows in it. InputError where they are known by what was read."""
    known = {r.id for r in _stored(fixture)}
    fresh = [r for r in rows.all if r.id not in known]
    alike = _alike(fixture, fresh)
    if not again and len(fresh) >= REFUSED_FROM:
        for date, same in alike.items():
            if len(same) == len(fresh):
                message = f"reads exactly like the cuts of {date!r}, under another date"
                allowed = 'readings of new cuts, or "again = true" if they are'
                raise InputError(Problem("date", message, fresh[0].id.rsplit("/", 2)[0], allowed))
    zeros = {
        f"{axis}_zero": max(number, getattr(fixture.correction, f"{axis}_zero"))
        for axis, number in rows.zeros
    }
    based = stated_rows(fixture) if fresh else fixture
    found = Taken(based, (), (), (), ())
    stated = {axis for axis, _ in rows.zeros}
    stored = {r.id: r for r in based.test_cut}
    # A cut that is known was made on the zero of its day, whatever the zero is by now.
    given = tuple(
        attrs.evolve(r, zero=stored[r.id].zero) if r.id in stored and r.axis not in stated else r
        for r in rows.cuts
    )
    cuts, found = _merged(based.test_cut, given, found)
    grooves, found = _merged(based.test_groove, rows.grooves, found)
    spacings, found = _merged(based.test_spacing, rows.spacings, found)
    pairs = {new: old for same in alike.values() for new, old in same.items()}
    return attrs.evolve(
        found,
        alike=tuple(pairs.items()),
        fixture=attrs.evolve(
            based,
            test_cut=cuts,
            test_groove=grooves,
            test_spacing=spacings,
            correction=attrs.evolve(based.correction, **zeros),
        ),
    )


def _stored(fixture: Fixture) -> tuple[AxisCut | KerfCut | LeadCut, ...]:
    return (*fixture.test_cut, *fixture.test_groove, *fixture.test_spacing)


def _alike(
    fixture: Fixture, fresh: Sequence[AxisCut | KerfCut | LeadCut]
) -> dict[str, dict[str, str]]:
    """{earlier date: {new id: earlier id}} of rows that read the same."""
    out: dict[str, dict[str, str]] = {}
    for old in _stored(fixture):
        for row in fresh:
            if type(row) is type(old) and row.print == old.print != "unknown":
                out.setdefault(old.id.rsplit("/", 2)[0], {})[row.id] = old.id
    return out


def _merged(
    stored: tuple[R, ...], given: tuple[R, ...], taken: Taken
) -> tuple[tuple[R, ...], Taken]:
    rows = {r.id: r for r in stored}
    new, replaced, known = list(taken.new), list(taken.replaced), list(taken.known)
    for row in given:
        old = rows.get(row.id)
        if old is None:
            new.append(row.id)
        else:
            # What a person left out in the fixture's file stays out.
            row = attrs.evolve(row, left_out=row.left_out or old.left_out)
            (known if row == old else replaced).append(row.id)
        rows[row.id] = row
    names = attrs.evolve(taken, new=tuple(new), replaced=tuple(replaced), known=tuple(known))
    return tuple(rows.values()), names
