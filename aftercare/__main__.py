"""``python -m aftercare``."""

from aftercare.cli import main

main()
