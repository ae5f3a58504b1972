"""Plane geometry on numpy and shapely; knows no words of the trade."""
