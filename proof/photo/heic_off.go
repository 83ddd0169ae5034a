//go:build noheic

package photo

import (
	"image"
	"io"
)

// decodeHEVC stands where the program was built without what decodes HEIC.
func decodeHEVC(io.Reader) (image.Image, error) {
	return nil, unsupported("HEIC is not read by this build of the program; save it as TIFF, PNG or JPEG")
}
