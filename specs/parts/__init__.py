"""The part that a person means, the contents of a kit, and the wear of a used part."""
