"""Every sentence that people read of a recording: words only, no layout. docs/nomenclature.md has the terms."""
