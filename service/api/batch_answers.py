"""What comes back from a batch and what stands at its end, for the documents: to serve, none of
these schemas is needed."""

from __future__ import annotations

from marshmallow import fields

from .answers import EitherOf, Open, schema
from .fields import said
from .operations import OPERATIONS
from .resources import ProblemDocument


class Echo(fields.Raw):
    """An identifier as it was sent, or null where none could be read."""


class BatchAnswer(Open):
    """A line of a batch's answer, in the order of the lines asked."""

    id = Echo(required=True, **said("the line's id; null where none could be read"))
    line = fields.Integer(
        **said("number of the line in the body, from 1; given where there is no id")
    )
    status = fields.Integer(
        required=True, **said("the HTTP status that the request alone would have had")
    )
    body = EitherOf(
        [*(schema(o.answer) for o in OPERATIONS), ProblemDocument],
        required=True,
        **said("the answer, or the problem document where the status is not 200"),
    )


class BatchCounts(Open):
    """What became of a batch."""

    lines = fields.Integer(required=True, **said("lines answered; blank lines are not counted"))
    good = fields.Integer(required=True, **said("lines with status 200"))
    refused = fields.Integer(required=True, **said("lines whose request was refused (4xx)"))
    failed = fields.Integer(required=True, **said("lines on which the service failed (5xx)"))
    complete = fields.Boolean(
        required=True, **said("whether the body was read to its end and every line answered")
    )
    next_line = fields.Integer(
        **said("first line of the body that was not answered, where it is not complete")
    )
    problem = fields.Nested(ProblemDocument, **said("why it is not complete"))


class BatchEnd(Open):
    """The last line of every batch: an answer without it was cut."""

    summary = fields.Nested(BatchCounts, required=True, **said("what became of the batch"))
