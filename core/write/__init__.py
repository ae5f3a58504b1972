"""Everything that leaves Lapline: drawings at true size, pictures and tables."""
