"""The book: one SQLite file that holds everything, and the only room that speaks SQL."""
