"""What can go wrong between a program and the service, and whose fault it is.

Knows nothing of HTTP libraries. Three cases that a caller mends in different ways:

* ``ProblemError``: the service answered, and said what is wrong (RFC 9457);
* ``ServiceUnreachableError`` and ``ServiceTimeoutError``: no whole answer came;
* ``UnexpectedAnswerError``: something answered that does not speak this contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = [
    "ClientError",
    "FieldFault",
    "ProblemError",
    "ServiceTimeoutError",
    "ServiceUnreachableError",
    "UnexpectedAnswerError",
]


@dataclass(frozen=True)
class FieldFault:
    """One field at fault: its dotted path, what is wrong, what was given, what is allowed."""

    field: str
    message: str
    given: str | None = None
    allowed: str = ""
    unit: str = ""

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> FieldFault:
        given = data.get("given")
        return cls(
            field=str(data.get("field", "")),
            message=str(data.get("message", "")),
            given=None if given is None else str(given),
            allowed=str(data.get("allowed") or ""),
            unit=str(data.get("unit") or ""),
        )

    def __str__(self) -> str:
        tail = "" if self.given is None else f"; given {self.given}"
        tail += f"; allowed: {self.allowed}" if self.allowed else ""
        return f"{self.field}: {self.message}{tail}"


class ClientError(Exception):
    """Every error that this client raises on purpose."""


class ProblemError(ClientError):
    """The service refused, and says why: RFC 9457 problem details.

    status: the HTTP status; 4xx is the caller's to mend, 500 the service's or a plug-in's author's.
    title, detail, type: as the service gave them.
    errors: one FieldFault for each field at fault, in the service's order.
    """

    def __init__(
        self,
        status: int,
        title: str,
        detail: str = "",
        errors: tuple[FieldFault, ...] = (),
        type: str = "about:blank",
    ) -> None:
        self.status = status
        self.title = title
        self.detail = detail
        self.errors = errors
        self.type = type
        super().__init__(status, title, detail, errors, type)

    @classmethod
    def of(cls, data: Mapping[str, Any], status: int) -> ProblemError:
        """From the members of a problem document; ``status`` is that of the answer itself."""
        listed = data.get("errors")
        faults = [e for e in listed if isinstance(e, Mapping)] if isinstance(listed, list) else []
        return cls(
            status,
            str(data.get("title") or "the service refused and gave no title"),
            str(data.get("detail") or ""),
            tuple(FieldFault.of(e) for e in faults),
            str(data.get("type") or "about:blank"),
        )

    def __str__(self) -> str:
        head = f"{self.status} {self.title}"
        if self.errors:
            return "\n".join([head, *(f"  {fault}" for fault in self.errors)])
        return f"{head}: {self.detail}" if self.detail else head


class ServiceUnreachableError(ClientError):
    """No whole answer came: nothing listens there, or the service died while it answered.

    url: what was asked. attempts: how often. A question only computes, so asking it again
    later is safe.
    """

    def __init__(self, url: str, attempts: int, reason: str) -> None:
        self.url = url
        self.attempts = attempts
        self.reason = reason
        super().__init__(url, attempts, reason)

    def __str__(self) -> str:
        times = "once" if self.attempts == 1 else f"{self.attempts} times"
        return (
            f"the jointgeo service gave no answer (asked {times}: {self.url}): {self.reason}; "
            "is it running there? It is started with: jointgeo serve"
        )


class ServiceTimeoutError(ClientError):
    """The service was silent for longer than the timeout; it is not asked again."""

    def __init__(self, url: str, timeout_s: float) -> None:
        self.url = url
        self.timeout_s = timeout_s
        super().__init__(url, timeout_s)

    def __str__(self) -> str:
        return f"the jointgeo service was silent for {self.timeout_s:g} s: {self.url}"


class UnexpectedAnswerError(ClientError):
    """What answered is not a jointgeo service, or not one of this version."""
