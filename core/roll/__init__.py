"""From pieces to rolls: stock, layouts, nesting and what is missing."""
