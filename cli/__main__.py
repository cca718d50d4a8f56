"""Lets ``python -m cli`` stand for the installed command."""

from cli.app import main

main()
