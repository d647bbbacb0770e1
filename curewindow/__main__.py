"""`python -m curewindow`."""

from curewindow.cli.main import run

if __name__ == "__main__":
    run()
