"""Dialogs: each returns a frozen value, or None when it was left without one."""
