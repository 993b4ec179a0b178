"""How dates are written in the United States, by the format that the pages ask for; see `de`."""

globals().update(
    {
        "H:i": "g:i A",
        "j F": "F j",
        "j F Y": "F j, Y",
        "j F, H:i": "F j, g:i A",
        "j F Y, H:i": "F j, Y, g:i A",
        "j F Y, H:i:s": "F j, Y, g:i:s A",
        "j M": "M j",
        "j M Y": "M j, Y",
        "j M, H:i": "M j, g:i A",
        "j M Y, H:i": "M j, Y, g:i A",
        "l H:i": "l g:i A",
        "l j F": "l, F j",
        "l j F, H:i": "l, F j, g:i A",
        "l j F Y": "l, F j, Y",
        "l j F Y, H:i": "l, F j, Y, g:i A",
        "D j M": "D, M j",
        "D j M, H:i": "D, M j, g:i A",
        "D j M Y": "D, M j, Y",
        "D j M Y, H:i": "D, M j, Y, g:i A",
    }
)
