"""Pictures of charts as SVG, measured in the page's typeface."""
