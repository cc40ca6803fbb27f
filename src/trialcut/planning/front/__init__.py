"""The trade-off: what a piece costs against how accurate, and how smooth, it must be."""
