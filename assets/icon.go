package assets

import _ "embed"

//go:embed icon.png
var icon []byte

// Icon returns the program's icon, a PNG of 512 by 512 pixels drawn from icon.svg.
func Icon() []byte { return icon }
