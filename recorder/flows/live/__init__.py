"""A live session: sound to disk, words to answers, photos to measurements, and the finish."""
