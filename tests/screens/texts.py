"""HTML to plain text, as a reader sees it."""

import html
import re


def plain(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", text))
