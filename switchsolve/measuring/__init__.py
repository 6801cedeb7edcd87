"""Measuring: how much work an arrangement of tracks makes."""
