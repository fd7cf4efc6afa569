"""Examples of every body and answer, built from the description itself.

A value is chosen by the name of its field, else by its type, and held within the bounds that the
schema sets. All people and places are invented. `describe_examples` ends the making of the
description: it also says once what many operations answer, and null as version 3.1 says it.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from typing import Any, Final

from properties.http.schema_values import (
    ARRAYS,
    BY_FORMAT,
    NUMBERS,
    PROBLEM_BODIES,
    QUANTITIES,
    TEXTS,
)

SCHEMAS: Final = "#/components/schemas/"
EXAMPLES: Final = "#/components/examples/"
RESPONSES: Final = "#/components/responses/"
PROBLEM_JSON: Final = "application/problem+json"
EXPANDED: Final = "expanded"  # absent where nothing was asked for
DEEPEST: Final = 9
PATCHED: Final = 2  # so many fields does the example of a change send
VERBS: Final = ("get", "post", "put", "patch", "delete")
Schema = Mapping[str, Any]


def describe_examples(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Give each operation its examples: those of a named schema are said once."""
    _say_null(result)
    for name, schema in result["components"]["schemas"].items():
        _say_what_is_always_there(name, schema)
    result["components"]["responses"] = {}
    builder = ExampleBuilder(result["components"]["schemas"])
    examples: dict[str, Any] = {}
    for operation in _operations(result):
        _hoist_problems(operation, result["components"]["responses"])
        for media_type, content, is_sent in _contents(operation):
            if "json" in media_type:
                _tell_example(content, builder, examples, is_sent=is_sent)
    result["components"]["examples"] = dict(sorted(examples.items()))
    return result


class ExampleBuilder:
    """Builds an example of a schema."""

    def __init__(self, schemas: Mapping[str, Schema]) -> None:
        self.schemas = schemas

    def of(self, schema: Schema, *, name: str = "", depth: int = 0, is_sent: bool = False) -> Any:
        """Return an example of a schema that stands in a field of that name."""
        schema = self.resolved(schema)
        for given in ("const", "example"):
            if given in schema:
                return schema[given]
        if "enum" in schema:
            return next((word for word in schema["enum"] if word not in (None, "")), None)
        made = {"object": self._object, "array": self._array}.get(_type_of(schema))
        if made is not None:
            return made(schema, name, depth, is_sent)
        return _plain(schema, name)

    def resolved(self, schema: Schema) -> Schema:
        """Return a schema with what it refers to, and the first of its alternatives."""
        while "$ref" in schema:
            schema = self.schemas[schema["$ref"].removeprefix(SCHEMAS)]
        if "allOf" in schema:
            rest = {key: value for key, value in schema.items() if key != "allOf"}
            for part in schema["allOf"]:
                rest = {**self.resolved(part), **rest}
            return rest
        for either in ("oneOf", "anyOf"):
            if either in schema:
                parts = [self.resolved(part) for part in schema[either]]
                return next(part for part in parts if not _is_nothing(part))
        return schema

    def _object(self, schema: Schema, name: str, depth: int, is_sent: bool) -> Any:
        fields: dict[str, Schema] = dict(schema.get("properties", {}))
        if fields.keys() == {"value", "unit"}:
            unit = fields["unit"]["enum"][0]
            return {"value": QUANTITIES.get(name, QUANTITIES.get(unit, 1.5)), "unit": unit}
        wanted = set(schema.get("required", ())) if is_sent or depth > DEEPEST else set(fields)
        if is_sent and depth == 0 and not wanted:
            wanted = set([field for field in fields if field != "id"][:PATCHED])
        return {
            field: self.of(inner, name=field, depth=depth + 1, is_sent=is_sent)
            for field, inner in fields.items()
            if field in wanted
        }

    def _array(self, schema: Schema, name: str, depth: int, is_sent: bool) -> list[Any]:
        least = max(schema.get("minItems", 1), 1)
        if depth > DEEPEST:
            least = schema.get("minItems", 0)
        items = schema.get("items", {})
        known = ARRAYS.get(name)
        if known and _type_of(self.resolved(items)) == "number":
            return [known[index % len(known)] for index in range(max(least, 1))]
        return [self.of(items, name=name, depth=depth + 1, is_sent=is_sent) for _ in range(least)]


def _plain(schema: Schema, name: str) -> Any:
    kind = _type_of(schema)
    if kind in ("integer", "number"):
        number = NUMBERS.get(name, 3)
        low = schema.get("minimum", schema.get("exclusiveMinimum", number))
        held = min(max(number, low), schema.get("maximum", number))
        return int(held) if kind == "integer" else held
    if kind == "boolean":
        return False
    return _text(schema, name) if kind == "string" else {}


def _text(schema: Schema, name: str) -> str:
    kind = schema.get("format", "")
    if kind == "uuid":
        return uuid_named(name)
    text = BY_FORMAT.get(kind) or TEXTS.get(name) or name.replace("_", " ").capitalize() or "Text"
    if "default" in schema and not kind:
        text = schema["default"] or text
    least, most = schema.get("minLength", 0), schema.get("maxLength")
    return str(text)[:most].ljust(least, "x")


def uuid_named(name: str) -> str:
    """Return a UUIDv7 of 10 June 2026, always the same for one name."""
    tail = zlib.crc32((name or "id").encode())
    return f"019eb20c-2180-7{tail & 0xFFF:03x}-8a5e-0000{tail:08x}"


def _type_of(schema: Schema) -> str:
    kind = schema.get("type", "object" if "properties" in schema else "")
    if isinstance(kind, list):
        return str(next((one for one in kind if one != "null"), "null"))
    return str(kind)


def _is_nothing(schema: Schema) -> bool:
    return _type_of(schema) == "null" or set(schema.get("enum", ["x"])) <= {"", None}


def _operations(document: Schema) -> list[dict[str, Any]]:
    paths = document["paths"].values()
    return [verbs[verb] for verbs in paths for verb in VERBS if verb in verbs]


def _contents(operation: Schema) -> list[tuple[str, dict[str, Any], bool]]:
    sent = operation.get("requestBody", {}).get("content", {})
    bodies = [(kind, content, True) for kind, content in sent.items()]
    for answer in operation["responses"].values():
        bodies += [(kind, content, False) for kind, content in answer.get("content", {}).items()]
    return bodies


def _tell_example(
    content: dict[str, Any], builder: ExampleBuilder, said: dict[str, Any], *, is_sent: bool
) -> None:
    reference = content.get("schema", {}).get("$ref", "")
    if not reference:
        content["example"] = builder.of(content.get("schema", {}), is_sent=is_sent)
        return
    name = reference.removeprefix(SCHEMAS)
    if name not in said:
        said[name] = {"value": builder.of(content["schema"], is_sent=is_sent)}
    content["examples"] = {"usual": {"$ref": f"{EXAMPLES}{name}"}}


def _hoist_problems(operation: dict[str, Any], said: dict[str, Any]) -> None:
    """Say each problem once for all operations, with an example of its own."""
    for status, answer in operation["responses"].items():
        if list(answer.get("content", {})) == [PROBLEM_JSON]:
            name = f"Problem{status.capitalize()}"
            body = dict(answer["content"][PROBLEM_JSON]) | {"example": PROBLEM_BODIES[status]}
            said[name] = {**answer, "content": {PROBLEM_JSON: body}}
            operation["responses"][status] = {"$ref": f"{RESPONSES}{name}"}


def _say_what_is_always_there(name: str, schema: dict[str, Any]) -> None:
    """A row in an answer has an id, though one may be sent without; `expanded` is asked for."""
    required = set(schema.get("required", ())) - {EXPANDED}
    if "id" in schema.get("properties", ()) and not name.endswith("Request"):
        required.add("id")
    if required:
        schema["required"] = sorted(required)


def _say_null(node: Any) -> None:
    """Turn what version 3.0 calls nullable into a type of its own; what may be all is null too."""
    if isinstance(node, list):
        for each in node:
            _say_null(each)
    elif isinstance(node, dict):
        if node.get("nullable") is True and isinstance(node.get("type"), str):
            del node["nullable"]
            node["type"] = [node["type"], "null"]
        if {} in node.get("oneOf", ()):
            del node["oneOf"]
        for each in node.values():
            _say_null(each)
