"""What belongs to the firm and to no job: recipes, inventory, conveyors, belt makers' windows."""
