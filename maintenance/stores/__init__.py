"""Parts fitted and taken out, and what lies in store."""
