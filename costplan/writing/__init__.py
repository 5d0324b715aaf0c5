"""What of the guide is written from the code: the reference pages and the schemas, each by its path in the guide."""

from __future__ import annotations

import json
from collections.abc import Mapping
from types import MappingProxyType

from costplan.guide import SCHEMAS, SUFFIX
from costplan.writing.answers import ANSWERS, answer_schema
from costplan.writing.causes import causes_text
from costplan.writing.columns import columns_text
from costplan.writing.files import FILE_NAMES, file_schema
from costplan.writing.listing import schemas_text
from costplan.writing.measures import measures_text
from costplan.writing.methods import methods_text
from costplan.writing.problems import problems_text
from costplan.writing.rules import rules_text


def written() -> Mapping[str, str]:
    """Every file that is written from the code, with its text."""
    schemas = {name: file_schema(name) for name in FILE_NAMES} | {
        f"answer-{name.replace(' ', '-')}": answer_schema(name) for name in ANSWERS
    }
    return MappingProxyType(
        {
            "columns.md": columns_text(),
            "rules.md": rules_text(),
            "measures.md": measures_text(),
            "causes.md": causes_text(),
            "methods.md": methods_text(),
            "problems.md": problems_text(),
            "schemas.md": schemas_text(),
            **{f"{SCHEMAS}/{name}{SUFFIX}": to_text(schema) for name, schema in schemas.items()},
        }
    )


def to_text(schema: Mapping[str, object]) -> str:
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
