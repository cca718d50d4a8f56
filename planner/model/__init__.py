"""What is known before planning: places, cars, orders, moves, crews, rates, travel tables, and the day of them all."""
