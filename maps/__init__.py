"""Geography: places, roads and travel tables for the core, and the drawing of what the core decided."""
