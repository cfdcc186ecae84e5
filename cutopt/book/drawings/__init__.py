"""The display list and what is drawn on it: sites, tiles, supports; as SVG and DXF."""
