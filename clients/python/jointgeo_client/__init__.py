"""Client of the jointgeo service: angled joints, whole pieces and fixtures over HTTP.

    >>> from jointgeo_client import Client
    >>> with Client("http://127.0.0.1:8765") as service:
    ...     names = [t["name"] for t in service.joint_types()["joint_types"]]

Needs requests only, neither the library nor the service, and knows no joint type by
name. Millimetres and degrees throughout. Every error derives from ClientError; an
infeasible joint is an answer, not an error.
"""

from jointgeo_client.client import BatchAnswer, Client
from jointgeo_client.errors import (
    ClientError,
    FieldFault,
    ProblemError,
    ServiceTimeoutError,
    ServiceUnreachableError,
    UnexpectedAnswerError,
)
from jointgeo_client.pieces import PieceAnswer, PieceMarks, PieceWant
from jointgeo_client.shapes import (
    BatchItem,
    Check,
    Cut,
    Feasibility,
    Hand,
    JointTypeInfo,
    JointTypes,
    Parameter,
    PartSettings,
    Path,
    Settings,
    Setup,
    Want,
)

__all__ = [
    "BatchAnswer",
    "BatchItem",
    "Check",
    "Client",
    "ClientError",
    "Cut",
    "Feasibility",
    "FieldFault",
    "Hand",
    "JointTypeInfo",
    "JointTypes",
    "Parameter",
    "PartSettings",
    "Path",
    "PieceAnswer",
    "PieceMarks",
    "PieceWant",
    "ProblemError",
    "ServiceTimeoutError",
    "ServiceUnreachableError",
    "Settings",
    "Setup",
    "UnexpectedAnswerError",
    "Want",
]
