//go:build noheic

package photo

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

func TestHEICLeftOut(t *testing.T) {
	_, err := OpenReader(t.Context(), "x", bytes.NewReader(heif(t, "patches_420_p3.heic")))
	if e, ok := errors.AsType[*Error](err); !ok || e.Kind != Unsupported || !strings.Contains(err.Error(), "this build") {
		t.Errorf("%v", err)
	}
}
