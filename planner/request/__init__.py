"""What a plan file says, as values that check themselves, and the picture that it asks for."""
