"""`python -m bridge` is `visit-bridge`."""

from bridge.cli import main

if __name__ == "__main__":
    main(prog_name="visit-bridge")
