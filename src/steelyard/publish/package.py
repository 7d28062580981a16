"""The descriptor of the folder as a Frictionless Data Package: every file with its size and digest, tables by column.

Source: Data Package, Data Resource and Table Schema, version 1; the names of keys are from memory, and the tests have
the reference validator read them.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from typing import Any

from steelyard.publish.edition import Weighing
from steelyard.publish.tables import DataTable

_MEDIA = {
    "csv": "text/csv",
    "json": "application/json",
    "jsonl": "application/jsonl",
    "parquet": "application/vnd.apache.parquet",
    "toml": "application/toml",
}


def descriptor(weighing: Weighing, files: Mapping[str, bytes], tables: Mapping[str, DataTable]) -> bytes:
    """``datapackage.json``.

    Parameters
    ----------
    files: content of the data files by their path. tables: those of them that are tables in CSV.
    """
    content = {
        "profile": "data-package",
        "name": "weigh-days",
        "title": weighing.title,
        "description": "Weigh days: every load with its standard uncertainty and 95 % interval, every limit judged.",
        "contributors": [{"title": name, "role": "author"} for name in weighing.authors],
        "resources": [_resource(path, data, tables.get(path)) for path, data in files.items()],
    }
    kept = {key: value for key, value in content.items() if value}
    return (json.dumps(kept, ensure_ascii=False, indent=2) + "\n").encode()


def _resource(path: str, data: bytes, table: DataTable | None) -> dict[str, Any]:
    ending = path.rpartition(".")[2]
    resource: dict[str, Any] = {
        "name": resource_name(path),
        "path": path,
        "profile": "data-resource" if table is None else "tabular-data-resource",
        "format": ending,
        "mediatype": _MEDIA[ending],
        "encoding": "utf-8",
        "bytes": len(data),
        "hash": f"sha256:{hashlib.sha256(data).hexdigest()}",
    }
    if table is None:
        # without this word the validator takes JSON lines and Parquet for tables and asks for a library of its own
        return {key: value for key, value in resource.items() if key != "encoding" or ending != "parquet"} | {
            "type": "file"
        }
    fields = [{"name": item.name, "type": item.kind, "description": item.about} for item in table.columns]
    schema = {"fields": fields, "missingValues": [""], "primaryKey": list(table.key)}
    return resource | {"description": table.about, "schema": schema}


def resource_name(path: str) -> str:
    """The name of a resource in the letters that the standard allows; a digest tells those apart that had others."""
    folder, _, file = path.rpartition("/")
    stem, _, ending = file.rpartition(".")
    plain = stem if ending == "csv" else f"{stem}-{ending}"
    if folder == "days":
        plain = f"day-{stem}"
    name = re.sub(r"[^-a-z0-9._]", "-", plain.lower())
    return name if name == plain else f"{name}-{hashlib.sha256(path.encode()).hexdigest()[:8]}"
