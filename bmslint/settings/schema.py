"""The JSON Schema of the settings format, for editors and other programs."""

from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from bmslint.settings.models import Settings

URN = "urn:bmslint:settings:1"


class _Generator(GenerateJsonSchema):
    """Leaves out the defaults, which the models have only to make a key optional."""

    def default_schema(self, schema: Any) -> dict[str, Any]:
        return self.generate_inner(schema["schema"])


def json_schema() -> dict[str, Any]:
    """Give the JSON Schema 2020-12 of settings format 1.

    A file that has `extends` need not say itself what its base says.

    Returns:
        The schema, the same every time; only JSON values in it.
    """
    body = Settings.model_json_schema(schema_generator=_Generator)
    for part in (body, *body["$defs"].values()):
        for key in part["properties"].values():
            key.pop("title", None)  # repeats the key
            if "patternProperties" in key:
                key["additionalProperties"] = False  # a name that does not match is an error
    body["title"] = "Settings of a battery management system, bmslint format 1"
    pack_needs = body["$defs"]["Pack"].pop("required")
    body["required"].remove("pack")
    body["if"] = {"not": {"required": ["extends"]}}
    body["then"] = {"required": ["pack"], "properties": {"pack": {"required": pack_needs}}}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": URN, **body}
