"""The ticket of a station carries the photographs that were kept at its drafts."""

from __future__ import annotations

import io

from PIL import Image
from pypdf import PdfReader
from starlette.testclient import TestClient

from tests.web.shapes import draft

DAYS = "/api/v1/days"
BROKEN = b"\x89PNG\r\n\x1a\n" + bytes(100)


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (30, 20), (200, 120, 40)).save(out, "PNG")
    return out.getvalue()


def test_photographs_kept_at_drafts_are_printed_and_a_broken_one_is_named(script: TestClient, day_id: str) -> None:
    png = {"content-type": "image/png"}
    for key, data in (("k-1", picture()), ("k-2", BROKEN)):
        assert script.post(f"{DAYS}/{day_id}/drafts", json=draft(key)).status_code == 201
        assert script.put(f"{DAYS}/{day_id}/drafts/{key}/photo", content=data, headers=png).status_code == 201
    count = len(script.get(f"{DAYS}/{day_id}").text.split("[[drafts]]")) - 1
    answer = script.get(f"/days/{day_id}/ticket.pdf?paper=a4")
    assert answer.status_code == 200, answer.text
    reader = PdfReader(io.BytesIO(answer.content))
    said = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert f"draft {count - 1}, solo" in said
    assert f"The photograph of draft {count} is not printed: it is damaged: it does not say how wide" in said
    assert [image.image.size for page in reader.pages for image in page.images if image.image] == [(30, 20)]
