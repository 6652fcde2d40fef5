"""Draw the frames of the demo lessons and write down what is true in them."""
