"""Pure arithmetic: fits and quantiles. Nothing here knows what is measured."""
