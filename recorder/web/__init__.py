"""The page for phone, tablet or laptop: sockets, pages, pairing."""
