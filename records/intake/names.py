"""Names that came with a file: kept as text, shown safely, never used as a path."""

import unicodedata

LONGEST = 255
# Control, format (direction overrides among them), surrogate, unassigned, separators.
UNSHOWABLE = {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}
JOINERS = {"\u200c", "\u200d"}  # parts of letters and emoji


def shown_name(name: str) -> str:
    """The name with control characters made visible, cut in the middle if it is too long."""
    seen = "".join(_shown(character) for character in name.strip()) or "?"
    if len(seen) <= LONGEST:
        return seen
    return f"{seen[: LONGEST - 41]}…{seen[-40:]}"


def _shown(character: str) -> str:
    code = ord(character)
    if code < 0x20:
        return chr(0x2400 + code)  # Unicode's own pictures of the control characters
    if unicodedata.category(character) in UNSHOWABLE and character not in JOINERS:
        return f"<U+{code:04X}>"
    return character


def download_name(name: str) -> str:
    """A name for saving: without anything a file system could read as a path."""
    safe = shown_name(name)
    for character in '/\\:*?"<>|':
        safe = safe.replace(character, "_")
    return safe.lstrip(".") or "file"


def extension(name: str) -> str:
    """Lower case, without the dot: a hint and nothing more."""
    return name.rpartition(".")[2].casefold() if "." in name else ""
