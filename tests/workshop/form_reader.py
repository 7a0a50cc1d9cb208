"""The forms of a page as a browser reads them: fields, buttons, and what would be sent."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

DRAWINGS = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
BUTTONS = {"submit", "button", "reset", "image"}
VOID = {"input", "br", "hr", "img", "meta", "link", "source", "wbr", "col", "area", "base"}


@dataclass
class Field:
    """A field as it stands on the page; `options` are those of a choice."""

    name: str
    kind: str
    value: str = ""
    attributes: dict[str, str] = field(default_factory=dict)
    options: list[str] = field(default_factory=list)
    chosen: list[str] = field(default_factory=list)
    is_on: bool = True

    def sent(self) -> list[str]:
        """Return the values a browser would send for it."""
        if self.kind == "select":
            first = [] if "multiple" in self.attributes else self.options[:1]
            return self.chosen or first
        return [self.value] if self.is_on and self.kind != "file" else []


@dataclass
class Form:
    """A form: where it goes, how, its fields, and its buttons as attributes."""

    attributes: dict[str, str]
    fields: list[Field] = field(default_factory=list)
    buttons: list[dict[str, str]] = field(default_factory=list)

    def sent(self) -> dict[str, list[str]]:
        """Return what would be sent, without a button."""
        data: dict[str, list[str]] = {}
        for each in self.fields:
            for value in each.sent():
                data.setdefault(each.name, []).append(value)
        return data


class Page(HTMLParser):
    """A page read: its forms, and the text of every element with an id."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.texts: dict[str, str] = {}
        self._by_id: dict[str, Form] = {}
        self._elsewhere: list[tuple[str, Field]] = []
        self._open: list[tuple[str, str]] = []
        self._form: Form | None = None
        self._area: Field | None = None
        self._select: Field | None = None
        self._option: str | None = None
        self.feed(DRAWINGS.sub("", html))
        self.close()
        for owner, each in self._elsewhere:
            if owner in self._by_id:
                self._by_id[owner].fields.append(each)

    def handle_starttag(self, tag, attrs):
        attributes = {name: value or "" for name, value in attrs}
        if tag not in VOID:
            self._open.append((tag, attributes.get("id", "")))
            if "id" in attributes:
                self.texts.setdefault(attributes["id"], "")
        if tag == "form":
            self._form = Form(attributes)
            self.forms.append(self._form)
            self._by_id[attributes.get("id", "")] = self._form
        elif tag == "button" or (tag == "input" and attributes.get("type") in BUTTONS):
            form = self._by_id.get(attributes.get("form", ""), self._form)
            if form is not None and attributes.get("type", "submit") == "submit":
                form.buttons.append(attributes)
        elif tag == "option" and self._select is not None:
            self._option = attributes.get("value")
            if self._option is not None:
                self._select.options.append(self._option)
                if "selected" in attributes:
                    self._select.chosen.append(self._option)
        elif tag in ("input", "select", "textarea"):
            self._field(tag, attributes)

    def _field(self, tag, attributes):
        kind = attributes.get("type", "text") if tag == "input" else tag
        is_tick = kind in ("checkbox", "radio")
        each = Field(
            attributes.get("name", ""),
            kind,
            attributes.get("value", "on" if is_tick else ""),
            attributes,
            is_on=not is_tick or "checked" in attributes,
        )
        if tag == "select":
            self._select = each
        elif tag == "textarea":
            self._area = each
        if not each.name or "disabled" in attributes:
            return
        if "form" in attributes:
            self._elsewhere.append((attributes["form"], each))
        elif self._form is not None:
            self._form.fields.append(each)

    def handle_endtag(self, tag):
        while self._open and tag in {name for name, _id in self._open}:
            if self._open.pop()[0] == tag:
                break
        if tag == "form":
            self._form = None
        elif tag == "textarea" and self._area is not None:
            self._area.value = self._area.value.removeprefix("\r\n").removeprefix("\n")
            self._area = None
        elif tag == "select":
            self._select = None

    def handle_data(self, data):
        if self._area is not None:
            self._area.value += data
        for _tag, key in self._open:
            if key:
                self.texts[key] += data
