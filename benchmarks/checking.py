"""The check of a seal: findings with their seal, and a sealed ticket, without weighing the day again."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator

import pypdf
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from benchmarks.days import BUNDLED
from benchmarks.measure import Row, side_by_side
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.report.print.sealed import seal_to_print
from steelyard.report.print.ticket import ticket_pdf
from steelyard.seals.authenticate.judge import SealJudge, judge
from steelyard.seals.authenticate.reading import read_bytes
from steelyard.seals.known import KnownKeys
from steelyard.seals.sealing import content_of_file, findings_file, sealed

GROUP = "check of a seal"
AIM = "200 ms"
_NOW = 1_796_040_000  # 2026-11-30 12:00 UTC


def rows() -> Iterator[Row]:
    """The bundled day."""
    data = BUNDLED.read_bytes()
    findings = weigh(parse_day(data, "day.toml"))
    content, key = content_of_file(findings, data), Ed25519PrivateKey.from_private_bytes(bytes(32))
    public = key.public_key().public_bytes_raw()
    seal = sealed(content, public=public, sign=key.sign, number=1, previous=None, sealed_at=_NOW)
    said = findings_file(content)
    ticket = ticket_pdf(findings, pictures=False, seal=seal_to_print(seal, content, "day.toml"))
    by = SealJudge(KnownKeys().standing, now=_NOW, weigh=False)
    loose, whole = "findings and their seal", "a sealed ticket"
    canonical, attachments = "their canonical JSON by rfc8785", "its attachments by pypdf"
    calls = {
        loose: lambda: judge((*read_bytes(said, "day.findings.json"), *read_bytes(seal.data, "day.seal")), by),
        canonical: lambda: rfc8785.dumps(json.loads(said)),
        whole: lambda: judge(read_bytes(ticket, "day.pdf"), by),
        attachments: lambda: dict(pypdf.PdfReader(io.BytesIO(ticket)).attachments),
    }
    took = side_by_side(calls, seconds=4.0)
    yield Row(GROUP, loose, took[loose], canonical, took[canonical], aim=AIM)
    yield Row(GROUP, whole, took[whole], attachments, took[attachments], aim=AIM)
