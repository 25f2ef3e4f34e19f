// Package keyring keeps the keys that seal tags, one in a file, in a directory
// beside the register. It decides nothing about tags.
//
// [Create] draws a key and puts it into the directory under its fingerprint,
// FINGERPRINT.key; [Load] reads all that are there, under any name that ends in
// .key. Old keys stay: they verify tags that were sealed before. [WriteFile] and
// [ReadFile] do the same for a single file anywhere.
//
// A key file is for its owner only (mode 0600), is never written over and is on
// disk when the call that made it returns. A lost key strands nothing, since the
// register accepts its own tags by equality; a key that others can read lets
// them make tags that another crib would receive, so [Ring.Exposed] and [Exposed]
// tell which files are open to others, for the program to say so ([Warning]).
package keyring

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"cribgate/core/tagcode"
	"cribgate/store/durable"
)

// Errors of this package. Each is wrapped with the file it is about.
var (
	ErrNoKey  = errors.New("there is no such key; put its file back into the key directory")
	ErrExists = errors.New("there is a file of that name already")
	ErrBad    = errors.New("the file is no key; take it away or put the copy back")
)

// Warning is what a program says of a key file that Exposed names.
const Warning = "a key file is open to others than its owner"

// suffix ends the name of every key file in a ring.
const suffix = ".key"

// maxFile is more than a key file has bytes.
const maxFile = 1 << 10

// Ring is what Load found. The zero Ring is empty.
type Ring struct {
	dir  string
	keys map[tagcode.Fingerprint]tagcode.Key
	// Exposed names the files that others than their owner can read or write.
	Exposed []string
}

// Create draws a key from random, a cryptographic source, and writes it to
// dir/FINGERPRINT.key. It makes the directory, for its owner only, where it is
// missing.
func Create(dir string, random io.Reader) (tagcode.Key, error) {
	key, err := tagcode.NewKey(random)
	if err != nil {
		return tagcode.Key{}, fmt.Errorf("keyring: %w", err)
	}
	if err := Add(dir, key); err != nil {
		return tagcode.Key{}, err
	}
	return key, nil
}

// Add writes a key to dir/FINGERPRINT.key; ErrExists where there is a file of that
// name. It makes the directory, for its owner only, where it is missing.
func Add(dir string, key tagcode.Key) error {
	if err := os.Mkdir(dir, 0o700); err == nil {
		if err := durable.SyncDir(filepath.Dir(dir)); err != nil {
			return err
		}
	} else if !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("keyring: make %s: %w", dir, err)
	}
	return WriteFile(filepath.Join(dir, key.Fingerprint().String()+suffix), key)
}

// Load reads every key file of dir. A directory that is not there is an empty
// ring; a file that is no key is ErrBad.
func Load(dir string) (Ring, error) {
	r := Ring{dir: dir, keys: make(map[tagcode.Fingerprint]tagcode.Key)}
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return r, nil
	}
	if err != nil {
		return Ring{}, fmt.Errorf("keyring: read %s: %w", dir, err)
	}
	for _, e := range entries {
		if filepath.Ext(e.Name()) != suffix {
			continue
		}
		path := filepath.Join(dir, e.Name())
		key, err := ReadFile(path)
		if err != nil {
			return Ring{}, err
		}
		open, err := Exposed(path)
		if err != nil {
			return Ring{}, err
		}
		if open {
			r.Exposed = append(r.Exposed, path)
		}
		r.keys[key.Fingerprint()] = key
	}
	return r, nil
}

// Current gives the key with the fingerprint f, which the register names as the
// one that seals tags now, or any other of the ring; ErrNoKey where it is
// missing.
func (r Ring) Current(f tagcode.Fingerprint) (tagcode.Key, error) {
	if key, ok := r.keys[f]; ok {
		return key, nil
	}
	return tagcode.Key{}, fmt.Errorf("keyring: key %s in %s: %w", f, r.dir, ErrNoKey)
}

// All lists the keys by fingerprint.
func (r Ring) All() []tagcode.Key {
	keys := make([]tagcode.Key, 0, len(r.keys))
	for _, k := range r.keys {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b tagcode.Key) int {
		fa, fb := a.Fingerprint(), b.Fingerprint()
		return bytes.Compare(fa[:], fb[:])
	})
	return keys
}

// Exposed reports whether others than its owner can read or write a file.
func Exposed(path string) (bool, error) {
	info, err := os.Stat(path)
	if err != nil {
		return false, fmt.Errorf("keyring: look at %s: %w", path, err)
	}
	return info.Mode().Perm()&0o077 != 0, nil
}

// ReadFile reads one key file: ErrNoKey where there is none, ErrBad where it
// holds anything else.
func ReadFile(path string) (_ tagcode.Key, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return tagcode.Key{}, fmt.Errorf("keyring: read %s: %w", path, ErrNoKey)
	}
	if err != nil {
		return tagcode.Key{}, fmt.Errorf("keyring: read %s: %w", path, err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	text, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err != nil {
		return tagcode.Key{}, fmt.Errorf("keyring: read %s: %w", path, err)
	}
	key, err := tagcode.ParseKey(string(text))
	if err != nil {
		return tagcode.Key{}, fmt.Errorf("keyring: read %s: %w", path, ErrBad)
	}
	return key, nil
}

// WriteFile writes one key file, whole and on disk or not at all; ErrExists
// where there is a file of that name.
func WriteFile(path string, key tagcode.Key) (err error) {
	text, err := key.MarshalText()
	if err != nil {
		return fmt.Errorf("keyring: write %s: %w", path, err)
	}
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, filepath.Base(path)+".new-*") // mode 0600
	if err != nil {
		return fmt.Errorf("keyring: write %s: %w", path, err)
	}
	defer func() { err = errors.Join(err, os.Remove(f.Name())) }()
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("keyring: write %s: %w", path, err)
	}
	if err := os.Link(f.Name(), path); errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("keyring: write %s: %w", path, ErrExists)
	} else if err != nil {
		return fmt.Errorf("keyring: write %s: %w", path, err)
	}
	return durable.SyncDir(dir)
}
