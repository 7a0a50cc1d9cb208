"""From a foot to pieces laid out on a hide: the geometry core, in millimetres."""
