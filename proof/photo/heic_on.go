//go:build !noheic

package photo

import (
	"image"
	"io"

	"github.com/gen2brain/heic"
)

// decodeHEVC decodes a HEIC file. The libraries behind it are under the LGPL, which
// asks who gives a program away to let others exchange them: with this project's
// source, that is to build it anew. Where the source is not given away, the build
// tag noheic leaves them out.
func decodeHEVC(r io.Reader) (image.Image, error) { return heic.Decode(r) }
