"""What a reader sees of a piece of HTML who has chosen English and millimetres."""

from html.parser import HTMLParser


class _English(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self._open: list[tuple[str, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note whether what opens is of the other language or unit."""
        self._open.append((tag, bool({"de", "in"} & set((dict(attrs).get("class") or "").split()))))

    def handle_endtag(self, tag: str) -> None:
        """Forget what closes."""
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Keep what is in sight."""
        if not any(hidden for _, hidden in self._open):
            self.seen.append(data)


def english(html: str) -> str:
    """Return the text in English and millimetres."""
    parser = _English()
    parser.feed(html)
    return "".join(parser.seen)
