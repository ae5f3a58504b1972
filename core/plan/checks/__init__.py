"""The review: each check looks at one kind of trouble and says what mends it."""
