"""The core of homeleg: no network, no printing, no clock of its own; a frozen day goes in, a checked plan comes out."""
