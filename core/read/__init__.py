"""Everything that comes into Lapline from other programs."""
