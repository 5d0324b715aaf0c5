"""Pages for a browser: one file each, which asks no network for anything and reads on a phone, a desk and paper."""
