"""Fixture files: whatever is wrong, the error names file, key, value and what is allowed."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.errors import FixtureError, InputError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import fixture_names, load_fixture, named_fixture, read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_tables, fixture_toml

from .samples import BEAM, FIXTURE, changed, fixture_with, without

BODY = {
    "name": "wall",
    "fixed_to": "base",
    "x_min_mm": -1,
    "x_max_mm": 1,
    "y_min_mm": 0,
    "y_max_mm": 1,
    "z_min_mm": 0,
    "z_max_mm": 1,
}
DISC = FIXTURE["cutter"][0]


def problems(data: Any) -> dict[str, Problem]:
    """What is wrong with a fixture, by field; every message is whole."""
    with pytest.raises(FixtureError) as caught:
        read_fixture(data, "mine.toml")
    error = caught.value
    assert error.source == "mine.toml"
    assert all(line.startswith("mine.toml: ") for line in str(error).split("\n"))
    for problem in error.problems:
        assert problem.message
        assert problem.allowed or "below" in problem.message
    return {p.field: p for p in error.problems}


BAD_VALUES = [
    ("swivel.min_deg", 1),
    ("swivel.max_deg", 90),
    ("tilt.hinge_z_mm", float("nan")),
    ("tilt.hinge_z_mm", float("inf")),
    ("tilt.max_deg", True),
    ("traverse.lead_mm", "4"),
    ("traverse.lead_mm", 0),
    ("traverse.divisions", 79.5),
    ("traverse.divisions", 10**400),
    ("cutter.0.kind", "router"),
    ("cutter.0.diameter_mm", 10**400),
    ("feed.sense", "sideways"),
    ("plate.width_mm", -1),
    ("plate.width_mm", None),
    ("fence.side", "Left"),
    ("backing.sacrificial", 1),
    ("backing.thickness_mm", -0.1),
    ("clamp.opening_mm", []),
    ("uncertainty.traverse_lead_fraction", 0.2),
    ("practice.glue_line_mm", 0),
    ("title", "two\nlines"),
    ("name", ""),
]


@pytest.mark.parametrize(
    ("path", "value"), BAD_VALUES, ids=[f"{p}={shown(v, 20)}" for p, v in BAD_VALUES]
)
def test_a_bad_value_is_named(path, value) -> None:
    (problem,) = problems(changed(FIXTURE, {path: value})).values()
    assert problem.field == path.replace(".0.", "[0].")
    assert problem.given
    assert problem.allowed


@pytest.mark.parametrize(
    "path",
    [
        "name",
        "swivel.min_deg",
        "tilt.hinge_y_mm",
        "traverse.divisions",
        "cutter",
        "cutter.0.reach_mm",
        "cutter_height.datum",
        "feed.sense",
        "uncertainty",
        "uncertainty.tilt_deg",
    ],
)
def test_a_missing_key_is_named(path) -> None:
    (problem,) = problems(without(FIXTURE, path)).values()
    assert problem.field == path.replace(".0.", "[0].")
    assert "missing" in problem.message
    assert problem.allowed


@pytest.mark.parametrize("field", [f.name for f in attrs.fields(Fixture)])
@pytest.mark.parametrize("value", [5, "text", True, None, [1], [[]], [None]])
def test_what_is_no_table_is_refused_everywhere(field, value) -> None:
    words = field in ("name", "title", "changed_from", "changed_why")
    left_out = field.startswith("changed_") and value is None
    if (words and value == "text") or left_out:
        assert getattr(read_fixture(changed(FIXTURE, {field: value})), field) == value
    else:
        found = problems(changed(FIXTURE, {field: value}))
        assert all(name.startswith(field) for name in found)


@pytest.mark.parametrize(
    ("changes", "taken_out", "field", "said"),
    [
        ({"swivel.min_rad": -0.4}, "swivel.min_deg", "swivel.min_rad", "min_deg"),
        ({"plate.width_cm": 60}, "plate.width_mm", "plate.width_cm", "width_mm"),
        ({"plate.wide_mm": 600}, None, "plate.wide_mm", "width_mm"),
        ({"laser": {}}, None, "laser", "cutter"),
    ],
    ids=["radians", "centimetres", "no such key", "no such table"],
)
def test_an_unknown_key_is_named_with_the_known(changes, taken_out, field, said) -> None:
    data = changed(FIXTURE, changes)
    found = problems(without(data, taken_out) if taken_out else data)
    assert set(found) == {field}
    assert said in found[field].allowed


def test_a_length_given_twice() -> None:
    found = problems(changed(FIXTURE, {"plate.width_in": 20}))
    assert set(found) == {"plate.width_mm"}
    assert "width_in" in found["plate.width_mm"].message


IMPOSSIBLE = [
    ({"traverse.min_mm": 10, "traverse.max_mm": 10}, "traverse.min_mm"),
    ({"feed.min_mm": 10, "feed.max_mm": -10}, "feed.min_mm"),
    ({"cutter_height.min_mm": 1, "cutter_height.max_mm": 0}, "cutter_height.min_mm"),
    ({"swivel.min_deg": 0, "swivel.max_deg": 0}, "swivel.min_deg"),
    ({"tilt.min_deg": 0, "tilt.max_deg": 0}, "tilt.min_deg"),
    ({"cutter": []}, "cutter"),
    ({"cutter": [DISC, DISC]}, "cutter[1].name"),
    ({"front_beam": [BEAM, {**BEAM, "fitted": False}]}, "front_beam[1].name"),
    ({"body": [BODY, BODY]}, "body[1].name"),
    ({"body": [{**BODY, "y_min_mm": 1}]}, "body[0].y_min_mm"),
    ({"front_beam": [{**BEAM, "z_min_mm": 200}]}, "front_beam[0].z_min_mm"),
    ({"cutter": [{**DISC, "reach_mm": 150}]}, "cutter[0].reach_mm"),
    ({"cutter": [{**DISC, "kind": "shank"}]}, "cutter[0].kerf_mm"),
    ({"practice": {"overlap_mm": 6}}, "practice.overlap_mm"),
    ({"fence.x_mm": 301}, "fence.x_mm"),
    ({"fence.x_mm": -301}, "fence.x_mm"),
    ({"name": "my fixture"}, "name"),
    ({"name": "../porch"}, "name"),
    ({"name": "größe"}, "name"),
]


@pytest.mark.parametrize(("changes", "field"), IMPOSSIBLE, ids=[f for _, f in IMPOSSIBLE])
def test_an_impossible_fixture_is_refused(changes, field) -> None:
    found = problems(changed(FIXTURE, changes))
    assert set(found) == {field}
    assert found[field].given


def test_several_mistakes_are_told_at_once() -> None:
    data = changed(FIXTURE, {"plate.width_mm": "wide", "feed.sense": "up", "cutter.0.kerf_mm": -1})
    assert set(problems(data)) == {"plate.width_mm", "feed.sense", "cutter[0].kerf_mm"}


def write(folder: Path, text: str | bytes) -> Path:
    path = folder / "mine.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize(
    "text",
    [
        "name = ",
        "= 3",
        "name = 'a'\nname = 'b'",
        "[swivel]\n[swivel]",
        b"name = '\xff\xfe'",
        b"\x00\x01\x02",
        "name = " + "[" * 100_000,
        "traverse = {lead_mm = " + "9" * 5000 + "}",
        "x = 2024-13-45",
    ],
    ids=[
        "cut off",
        "no key",
        "key twice",
        "table twice",
        "no UTF-8",
        "binary",
        "deep",
        "long",
        "date",
    ],
)
def test_a_file_that_is_no_toml(tmp_path, text) -> None:
    path = write(tmp_path, text)
    with pytest.raises(FixtureError) as caught:
        load_fixture(path)
    line = str(caught.value)
    assert str(path) in line
    assert "TOML" in line
    assert line.isprintable()


@pytest.mark.parametrize("text", ["", "# nothing\n", "title = 'bare'\n"])
def test_an_empty_file_misses_its_keys(tmp_path, text) -> None:
    with pytest.raises(FixtureError) as caught:
        load_fixture(write(tmp_path, text))
    assert {"name", "plate", "cutter"} <= {p.field for p in caught.value.problems}


def test_dates_and_other_things_toml_has(tmp_path) -> None:
    text = fixture_toml(fixture_with()).replace("lead_mm = 4.0", "lead_mm = 2024-01-01")
    with pytest.raises(FixtureError) as caught:
        load_fixture(write(tmp_path, text))
    (problem,) = caught.value.problems
    assert problem.field == "traverse.lead_mm"


def test_a_file_that_is_too_large(tmp_path) -> None:
    path = write(tmp_path, fixture_toml(fixture_with()) + "#" * 1_000_000)
    with pytest.raises(FixtureError, match="1000000 bytes"):
        load_fixture(path)


@pytest.mark.parametrize(
    "name",
    [
        "missing.toml",
        "no/such/folder/mine.toml",
        "./porch",
        "a\0b.toml",
        "x" * 5000 + ".toml",
        "\ud800.toml",
    ],
    ids=["missing", "no folder", "a path without a file", "NUL", "too long", "no text"],
)
def test_a_file_that_is_not_there(tmp_path, monkeypatch, name) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FixtureError) as caught:
        load_fixture(name)
    assert str(caught.value).isprintable()
    assert caught.value.source


def test_a_folder_is_no_file(tmp_path) -> None:
    for where in (tmp_path, f"{tmp_path}/"):
        with pytest.raises(FixtureError, match="TOML"):
            load_fixture(where)


def test_a_file_one_may_not_read(tmp_path) -> None:
    path = write(tmp_path, fixture_toml(fixture_with()))
    path.chmod(0)
    if os.access(path, os.R_OK):  # root reads everything; the same error as a missing file's
        path.unlink()
    with pytest.raises(FixtureError, match="TOML"):
        load_fixture(path)


@pytest.mark.parametrize(
    "name",
    [
        "porch2",
        "",
        "Porch",
        "porch ",
        "porch.toml",
        "../fixtures/porch",
        "/etc/passwd",
        "..",
        "porch\0",
        "porch/../porch",
        None,
        5,
        ["porch"],
        b"porch",
        Path("porch"),
    ],
    ids=repr,
)
def test_a_name_opens_no_path(name) -> None:
    with pytest.raises(UnknownNameError) as caught:
        named_fixture(name)
    (problem,) = caught.value.problems
    assert problem.field == "fixture"
    assert problem.given
    assert '"porch"' in problem.allowed


@pytest.mark.parametrize("word", ["porch2", "", "no such", "porch\0"])
def test_a_plain_word_is_a_name(word) -> None:
    with pytest.raises(UnknownNameError):
        load_fixture(word)


def test_every_error_of_a_fixture_is_the_callers() -> None:
    assert issubclass(FixtureError, InputError)
    assert issubclass(UnknownNameError, InputError)
    assert jointgeo.FixtureError is FixtureError


@pytest.mark.parametrize("name", fixture_names())
def test_a_fixture_survives_a_round_trip_through_its_file(name, tmp_path) -> None:
    fixture = load_fixture(name)
    assert fixture.name == name
    path = tmp_path / "again.toml"
    path.write_text(fixture_toml(fixture), "utf-8")
    assert load_fixture(path) == fixture
    assert load_fixture(str(path)) == fixture


def test_awkward_values_survive_a_round_trip(tmp_path) -> None:
    title = 'Öl "und" \\ ’'
    odd = changed(
        FIXTURE,
        {
            "title": title,
            "plate.width_mm": 600 + 1 / 3,
            "uncertainty.kerf_mm": 1e-17,
            "practice.trim_extra_mm": 0.1 + 0.2,
            "front_beam": [BEAM],
            "body": [BODY],
        },
    )
    fixture = read_fixture(odd)
    path = write(tmp_path, fixture_toml(fixture))
    assert load_fixture(path) == fixture
    assert load_fixture(path).title == title


def test_plain_data_round_trip() -> None:
    """Nested tables, lists and all."""
    fixture = load_fixture("porch")
    tables = fixture_tables(fixture)
    assert read_fixture(tables) == fixture


def test_a_fixture_cannot_be_changed() -> None:
    fixture = fixture_with()
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        fixture.plate.width_mm = 1.0  # type: ignore[misc]  # the very thing that must not work
    assert isinstance(fixture.cutter, tuple)
