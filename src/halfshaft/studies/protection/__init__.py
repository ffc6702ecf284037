"""How fuses open: bands of blade fuses and catalogue curves, against what a wire withstands."""
