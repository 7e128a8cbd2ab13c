"""What people type: the keys of the boxes, and what stands in them, by place and check."""
