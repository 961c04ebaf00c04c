"""Many pieces from a table or a list of requests: the command ``size-in-bulk``."""
