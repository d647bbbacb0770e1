"""`curewindow completion`: the script that teaches a shell our commands and names."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class


@click.command(name="completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def command(shell: str) -> None:
    """Print the completion script for your SHELL.

    \b
    bash: curewindow completion bash >> ~/.bashrc
    zsh:  curewindow completion zsh >> ~/.zshrc
    fish: curewindow completion fish > ~/.config/fish/completions/curewindow.fish
    """
    from curewindow.cli.main import command as whole

    script = get_completion_class(shell)
    assert script is not None  # click knows all three
    click.echo(script(whole, {}, "curewindow", "_CUREWINDOW_COMPLETE").source())
