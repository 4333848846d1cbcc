"""The commands, a row each: `sevenfall NAME` runs `feedback.commands.NAME`.

A command is a module with `HELP` (one line), `EXAMPLE` (a command line and what it is for),
`add_arguments(parser)` and `run(args) -> exit code`. It imports what is heavy inside `run`.
"""

COMMANDS = (
    "demo",
    "play",
    "warmup",
    "listen",
    "hear",
    "judge",
    "licks",
    "move",
    "chord",
    "soundcheck",
    "tune",
    "progress",
    "journal",
)
"""In the order in which `--help` lists them."""
