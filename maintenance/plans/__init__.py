"""What is due where and when: plans, their turns, and the nights that open jobs."""
