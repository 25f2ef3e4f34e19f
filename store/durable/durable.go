// Package durable makes names in the file system outlast a power cut: a file's name
// lies in its directory, and is lost with it where only the file was synced.
package durable

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// SyncDir makes what was named in dir outlast a power cut.
func SyncDir(dir string) (err error) {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("durable: sync directory: %w", err)
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("durable: sync directory: %w", err)
	}
	return nil
}

// MakeDir makes a directory for its owner alone, with those above it, unless it is
// there. It outlasts a power cut.
func MakeDir(dir string) error {
	var made []string
	for at := filepath.Clean(dir); ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			break
		}
		made = append(made, at)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("durable: %w", err)
	}
	for _, at := range made {
		if err := SyncDir(filepath.Dir(at)); err != nil {
			return err
		}
	}
	return nil
}
