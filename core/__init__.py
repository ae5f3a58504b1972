"""The planning core of Lapline: everything the window can do, without a window."""
