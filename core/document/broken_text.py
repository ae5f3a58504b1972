"""Text files that are broken, in plain words."""


def broken_words(error: Exception) -> str:
    """Say what is wrong with text that a reader of JSON refused.

    >>> broken_words(ValueError("Input data was truncated"))
    'it ends too soon, as if a part were missing'
    """
    said = str(error)
    if "stands twice" in said:
        return said.rstrip(".")
    if "truncated" in said or not said:
        return "it ends too soon, as if a part were missing"
    _, at, place = said.partition("(byte ")
    near = f", near byte {place.rstrip(').')}" if at else ""
    return f"something stands in it that does not belong there{near}"
