"""Why a farm could not be written to a file or read from one."""


class FarmFileError(Exception):
    """A file of a farm cannot be made or taken in; the message says why and what to do."""
