"""Papers of text tell headings, paragraphs and tables apart for who listens to them."""

from io import BytesIO

import pypdf
import pytest

from tests.documents.test_quote_paper import QUOTE
from workshop.documents.quote_paper import quote_pdf

pytestmark = pytest.mark.paper


def kinds(node, found):
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            kinds(child, found)
    elif isinstance(node, dict):
        if "/S" in node:
            found.add(str(node["/S"]))
        if "/K" in node:
            kinds(node["/K"], found)
    return found


def test_a_quote_is_tagged():
    # Source: ISO 32000-1, 14.8: /MarkInfo /Marked true, and a structure tree of standard types.
    root = pypdf.PdfReader(BytesIO(quote_pdf(QUOTE))).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    found = kinds(root["/StructTreeRoot"], set())
    assert {"/Document", "/H1", "/P", "/Table", "/TR"} <= found
