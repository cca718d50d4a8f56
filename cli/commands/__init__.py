"""The commands, one file each, with one public function of the same name."""
