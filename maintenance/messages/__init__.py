"""How people are told: the queue of messages, what they say, how they leave, calendars."""
