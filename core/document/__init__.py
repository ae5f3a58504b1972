"""The job and its parts: frozen values, the edits that make new ones, and the file."""
