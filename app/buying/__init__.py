"""What film costs and what is to be bought, always as the rolls are laid out now."""
