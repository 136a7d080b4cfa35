"""What a site, a field and a camera angle are good for in a season: nebulae and groups that one frame holds."""
