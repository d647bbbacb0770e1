"""`curewindow completion`: the script that teaches a shell our commands and names."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

# Names of jobs and spaces have blanks and quotes in them, which click's own script for
# bash does not put in quotes: here each name is quoted as it has to be typed, unless the
# word was begun with a quote.
_BASH = r"""_curewindow_completion() {
    local word="${COMP_WORDS[COMP_CWORD]}" kind value
    COMPREPLY=()
    while IFS=, read -r kind value; do
        case $kind in
            dir) compopt -o dirnames 2>/dev/null ;;
            file) compopt -o default 2>/dev/null ;;
            plain)
                case $word in
                    \"*) value=${value//\\/\\\\}; value=${value//\"/\\\"}
                         value=${value//\$/\\\$}; value=${value//\`/\\\`} ;;
                    \'*) value=${value//\'/\'\\\'\'} ;;
                    *) printf -v value %q "$value" ;;
                esac
                COMPREPLY+=("$value") ;;
        esac
    done < <(
        IFS=$'\n'
        COMP_WORDS="${COMP_WORDS[*]}" COMP_CWORD=$COMP_CWORD \
            _CUREWINDOW_COMPLETE=bash_complete "$1" 2>/dev/null
    )
}
complete -o nosort -F _curewindow_completion curewindow
"""


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

    if shell == "bash":
        click.echo(_BASH, nl=False)
        return
    script = get_completion_class(shell)
    assert script is not None  # click knows all three
    click.echo(script(whole, {}, "curewindow", "_CUREWINDOW_COMPLETE").source())
