"""One utterance understood, in all its hearings, and how far each value can be trusted."""
