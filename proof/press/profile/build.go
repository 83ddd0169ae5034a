package profile

import (
	"context"
	"errors"
)

// Build computes the profiles of spec.
func Build(ctx context.Context, spec Spec, progress Progress) (Result, error) {
	return Result{}, errors.New("profile: not built yet")
}
