"""Where a finished sheet goes: calendar file, printer, mail, a folder."""
