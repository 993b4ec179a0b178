"""Reference libraries the tests compare with, imported quietly.

colour-science warns at import when its optional plotting is not installed.
"""

import warnings

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour as colour_science

__all__ = ["colour_science"]
