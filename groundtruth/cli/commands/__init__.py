"""The commands, one module each with ``HELP``, ``add_arguments(parser)`` and ``run(args) -> int``.

Nothing heavy is imported at the top of a command's module: `groundtruth --help` loads them all.
"""
