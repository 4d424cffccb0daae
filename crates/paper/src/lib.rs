//! One millimetre canvas for every drawing.
