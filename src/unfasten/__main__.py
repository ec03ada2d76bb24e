"""`python -m unfasten`: the command line."""

from unfasten.cli.main import main

if __name__ == "__main__":
    main()
