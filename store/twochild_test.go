package store_test

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"

	"cribgate/store"
)

// other begins the keys of the second of two programs.
const other = "x"

// ahead is how many acts a program may be ahead of the other. Whoever has the lock
// of a file has it again before one who waits has looked: without that they would
// write one after the other.
const ahead = 1

// pace keeps two programs beside each other: each tells the other of its acts. The
// nil pace is of a program that is alone.
type pace struct{ hears, tells *os.File }

func (p *pace) begin() error {
	if p == nil {
		return nil
	}
	_, err := p.tells.Write(make([]byte, ahead))
	return err
}

// step waits until the other is near, or at its end.
func (p *pace) step() error {
	if p == nil {
		return nil
	}
	if _, err := p.tells.Write(make([]byte, 1)); err != nil && !errors.Is(err, syscall.EPIPE) {
		return err
	}
	if _, err := p.hears.Read(make([]byte, 1)); err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}

// ends lets the other go on alone.
func (p *pace) ends() error {
	if p == nil {
		return nil
	}
	return errors.Join(p.tells.Close(), p.hears.Close())
}

// besideFirst is the pace of the second of two programs, nil for one that is alone.
func besideFirst(what string) *pace {
	if !strings.HasSuffix(what, " "+other) {
		return nil
	}
	return &pace{hears: os.NewFile(3, "hears"), tells: os.NewFile(4, "tells")}
}

// streamedByTwo has another program do the same at the same time.
func streamedByTwo(ctx context.Context, s *store.Store, path, each string) error {
	theirs, tells, err := os.Pipe()
	if err != nil {
		return err
	}
	hears, says, err := os.Pipe()
	if err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, os.Args[0])
	cmd.Env = append(os.Environ(), roleEnv+"=stream "+each+" "+other, pathEnv+"="+path)
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
	cmd.ExtraFiles = []*os.File{theirs, says}
	beside := &pace{hears: hears, tells: tells}
	if err := errors.Join(cmd.Start(), theirs.Close(), says.Close()); err != nil {
		return err
	}
	return errors.Join(streamed(ctx, s, each, beside), cmd.Wait())
}
