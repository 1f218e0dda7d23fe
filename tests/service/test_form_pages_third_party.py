"""The pages to fill in of a joint type that somebody else wrote."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import attrs
from flask.testing import FlaskClient

import jointgeo

EVIL = "\"><script>alert('x')</script>"


def test_a_third_partys_joint_has_its_page(
    serving: Callable[..., FlaskClient], slotted: Callable[..., Any]
) -> None:
    own = serving(slotted())
    assert 'href="/joint/slotted"' in own.get("/").text
    text = own.get("/joint/slotted?fixture=porch&width_mm=62,5").text
    assert "Feasible" in text
    assert "Width of the board" in text
    assert 'value="62,5"' in text
    assert "Blank 62.50 mm" in text


def test_a_rule_between_fields_is_told_at_the_field(
    serving: Callable[..., FlaskClient], slotted: Callable[..., Any]
) -> None:
    def check(self: Any) -> None:
        if self.width_mm < 50:
            raise jointgeo.InputError.of("width_mm", "is less than 50", self.width_mm, "50 mm up")

    own = serving(attrs.frozen(slotted(__attrs_post_init__=check)))
    answer = own.get("/joint/slotted?fixture=porch&width_mm=40")
    assert answer.status_code == 422
    assert "Width is less than 50 (given 40); allowed: 50 mm up." in answer.text


def test_one_that_fails_is_named_on_its_page(
    serving: Callable[..., FlaskClient], slotted: Callable[..., Any]
) -> None:
    def draw(_: Any) -> Any:
        raise ZeroDivisionError("<oh>")

    answer = serving(slotted(draw=draw)).get("/joint/slotted?fixture=porch&width_mm=40")
    assert answer.status_code == 500
    assert "The plug-in is at fault: slotted" in answer.text
    assert "<oh>" not in answer.text


class Hostile:
    """A summary that would be a script."""

    summary: ClassVar[str] = EVIL


def test_a_third_partys_words_are_text(
    serving: Callable[..., FlaskClient], slotted: Callable[..., Any]
) -> None:
    own = serving(slotted(summary=Hostile.summary))
    for page in ("/", "/joint/slotted"):
        assert "<script" not in own.get(page).text
