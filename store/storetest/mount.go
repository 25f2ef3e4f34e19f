package storetest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"cribgate/core/required"
)

// SmallDisk mounts a file system of so many kilobytes, in memory, which really is
// full when it is full. It is unmounted when the test ends.
func SmallDisk(t testing.TB, kilobytes int) (dir string) {
	t.Helper()
	dir = t.TempDir()
	mount(t, "-t", "tmpfs", "-o", fmt.Sprintf("size=%dk", kilobytes), "tmpfs", dir)
	return dir
}

// mount skips the test loudly where it may not mount, and fails it where
// CRIBGATE_REQUIRE is set. The last argument is where.
func mount(t testing.TB, args ...string) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), "mount", args...).CombinedOutput(); err != nil {
		required.Lacks(t, "nothing can be mounted (is this root?): %v: %s", err, out)
	}
	t.Cleanup(func() {
		dir := args[len(args)-1]
		if out, err := exec.CommandContext(context.WithoutCancel(t.Context()), "umount", dir).CombinedOutput(); err != nil {
			t.Errorf("unmount %s: %v: %s", dir, err, out)
		}
	})
}

// A BreakingDisk is a file system as on a disk, that turns read-only for everybody
// when its disk fails, also for who has files open: what ext4 does.
type BreakingDisk struct {
	t          testing.TB
	image, Dir string
}

// NewBreakingDisk makes and mounts one of so many megabytes. It is unmounted when
// the test ends.
func NewBreakingDisk(t testing.TB, megabytes int64) *BreakingDisk {
	t.Helper()
	d := &BreakingDisk{t: t, image: filepath.Join(t.TempDir(), "disk"), Dir: t.TempDir()}
	f, err := os.Create(d.image)
	if err == nil {
		err = errors.Join(f.Truncate(megabytes<<20), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), required.Program(t, "mkfs.ext4"), "-q", d.image).CombinedOutput(); err != nil {
		t.Fatalf("mkfs.ext4: %v: %s", err, out)
	}
	mount(t, "-o", "loop", d.image, d.Dir)
	return d
}

// Lasts makes all that is in it last.
func (d *BreakingDisk) Lasts() {
	d.t.Helper()
	d.run("sync", "-f", d.Dir)
}

// Fails has the file system give up as it does when its disk fails.
func (d *BreakingDisk) Fails() {
	d.t.Helper()
	d.run("mount", "-o", "remount,abort", d.Dir)
}

// Replaced mounts it again, as after the start of a machine. Nobody may have a
// file open.
func (d *BreakingDisk) Replaced() {
	d.t.Helper()
	d.run("umount", d.Dir)
	d.run("mount", "-o", "loop", d.image, d.Dir)
}

func (d *BreakingDisk) run(name string, args ...string) {
	d.t.Helper()
	if out, err := exec.CommandContext(d.t.Context(), name, args...).CombinedOutput(); err != nil {
		d.t.Fatalf("%s %v: %v: %s", name, args, err, out)
	}
}

// FillDisk leaves so many bytes free in the file system that dir is on, and gives a
// function that makes room again.
func FillDisk(t testing.TB, dir string, free int64) (room func()) {
	t.Helper()
	f, err := os.CreateTemp(dir, "filler-*")
	if err != nil {
		t.Fatal(err)
	}
	if _, err = io.Copy(f, zeros{}); !errors.Is(err, syscall.ENOSPC) {
		t.Fatalf("fill the disk: %v", err)
	}
	size, err := f.Seek(0, io.SeekEnd)
	if err == nil {
		err = errors.Join(f.Truncate(max(0, size-free)), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() {
		t.Helper()
		if err := os.Remove(f.Name()); err != nil {
			t.Fatal(err)
		}
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
