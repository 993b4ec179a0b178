"""How dates are written in German, by the format that the pages ask for.

Django looks a format up here by its name. Ours have the British format for a name, so that a page
asks for what it shows in English; `tests/tools/test_languages.py` finds one that is missing here.
"""

globals().update(
    {
        "H:i": "H:i",
        "j F": "j. F",
        "j F Y": "j. F Y",
        "j F, H:i": "j. F, H:i",
        "j F Y, H:i": "j. F Y, H:i",
        "j F Y, H:i:s": "j. F Y, H:i:s",
        "j M": "j. M",
        "j M Y": "j. M Y",
        "j M, H:i": "j. M, H:i",
        "j M Y, H:i": "j. M Y, H:i",
        "l H:i": "l, H:i",
        "l j F": "l, j. F",
        "l j F, H:i": "l, j. F, H:i",
        "l j F Y": "l, j. F Y",
        "l j F Y, H:i": "l, j. F Y, H:i",
        "D j M": "D, j. M",
        "D j M, H:i": "D, j. M, H:i",
        "D j M Y": "D, j. M Y",
        "D j M Y, H:i": "D, j. M Y, H:i",
    }
)
