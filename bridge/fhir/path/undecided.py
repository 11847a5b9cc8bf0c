"""What is thrown where an expression gives no answer; none of it leaves the package."""


class UndecidedError(Exception):
    """The expression cannot be evaluated on this data, or only with what is not at hand."""


class BeyondError(UndecidedError):
    """The quick engine does not know this; the careful one may."""
