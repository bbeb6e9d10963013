"""Judged records going out: JSON, CSV and JSON Lines for machines, tables for people."""
