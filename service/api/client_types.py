"""The Python client's types and methods, made from the published schemas.

``python -m service.api.documents`` writes them anew into service/client/operations.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from .answers import schema
from .documents import components
from .operations import OPERATIONS
from .path_documents import COMPONENTS, ROOT, name_of

FILE: Path = ROOT / "service" / "client" / "operations.py"

_HEAD = '''\
# ruff: noqa
# fmt: off
"""Every operation with the types of what is sent and of what comes back.

Made by ``python -m service.api.documents`` from the definitions that the service itself uses: do
not edit. Members are told of in the published schemas.
"""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypedDict, cast
'''

_PLAIN = {"string": "str", "integer": "int", "number": "float", "boolean": "bool", "null": "None"}


def _type(schema: dict[str, Any]) -> str:
    match schema:
        case {"$ref": str(there)}:
            return there.removeprefix(COMPONENTS)
        case {"allOf": [only]}:
            return _type(only)
        case {"anyOf": kinds}:
            return " | ".join(dict.fromkeys(map(_type, kinds)))
        case {"enum": choices}:
            return f"Literal[{', '.join(map(repr, choices))}]"
        case {"type": "array", "items": items}:
            return f"list[{_type(items)}]"
        case {"type": "object", "additionalProperties": dict(values)}:
            return f"dict[str, {_type(values)}]"
        case {"type": str(plain)} if plain in _PLAIN:
            return _PLAIN[plain]
    return "Any"


def _typed(name: str, schema: dict[str, Any]) -> str:
    required = schema.get("required", [])
    members = {
        member: _type(told) if member in required else f"NotRequired[{_type(told)}]"
        for member, told in schema.get("properties", {}).items()
    }
    # The functional form, since a member may have the name of a keyword: from.
    lines = "".join(f'    "{member}": "{told}",\n' for member, told in members.items())
    told = f"# {schema['description']}\n" if "description" in schema else ""
    return f'{told}{name} = TypedDict("{name}", {{\n{lines}}})\n'


def _method(operation: Any) -> str:
    asked, told = name_of(operation.request), name_of(schema(operation.answer))
    return (
        f"    def {operation.id.replace('-', '_')}(self, request: {asked}) -> {told}:\n"
        f'        """{operation.summary}."""\n'
        f'        return cast({told}, self._ask("{operation.id}", request))\n'
    )


def text() -> str:
    """The module, as it should stand."""
    types = [_typed(name, schema) for name, schema in sorted(components().items())]
    head = (
        "class Operations:\n"
        '    """A method an operation; how one is asked is the business of what derives from this.'
        '"""\n\n'
        "    def _ask(self, operation: str, request: Any) -> Any:\n"
        "        raise NotImplementedError\n"
    )
    return "\n\n".join([_HEAD, *types, "\n".join([head, *map(_method, OPERATIONS)])])
