//go:build linux || darwin

package copies

import (
	"fmt"
	"os"
	"syscall"
)

// RoomOf asks how much room there is on the disk that a directory is on, as
// statfs(2) tells it: what this user may fill, not what is kept for others.
func RoomOf(dir string) (Room, error) {
	var fs syscall.Statfs_t
	if err := syscall.Statfs(dir, &fs); err != nil {
		return Room{}, fmt.Errorf("copies: room in %s: %w", dir, err)
	}
	info, err := os.Stat(dir)
	if err != nil {
		return Room{}, fmt.Errorf("copies: room in %s: %w", dir, err)
	}
	r := Room{Free: int64(fs.Bavail) * int64(fs.Bsize)}
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		r.Disk = uint64(st.Dev)
	}
	return r, nil
}
