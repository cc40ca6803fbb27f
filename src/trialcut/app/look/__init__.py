"""How a forecast part looks: the as-cut solid, its outlines, sections through walls, the cut played back."""
