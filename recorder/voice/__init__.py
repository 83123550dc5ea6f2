"""Sound to transcript: decoding, utterances, recognition."""
