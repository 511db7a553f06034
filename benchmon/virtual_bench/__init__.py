"""A small PC that does not exist: cooler, firmware and sensors, as a sysfs tree the real sensors read."""
