//go:build !linux && !darwin

package copies

import (
	"errors"
	"fmt"
)

// RoomOf cannot tell how much room there is on this system.
func RoomOf(dir string) (Room, error) {
	return Room{}, fmt.Errorf("copies: room in %s: %w", dir, errors.ErrUnsupported)
}
