package keyring_test

import (
	"bytes"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/tagcode"
	"cribgate/store/keyring"
)

func TestCreateAndLoad(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "keys")
	if r, err := keyring.Load(dir); err != nil || len(r.All()) != 0 {
		t.Errorf("a directory that is not there: %v, %v", r.All(), err)
	}
	first, err := keyring.Create(dir, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	second, err := keyring.Create(dir, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("directory: %v, %v", info.Mode(), err)
	}
	names, err := os.ReadDir(dir)
	if err != nil || len(names) != 2 {
		t.Fatalf("%v, %v", names, err)
	}
	for _, n := range names {
		if info, err := n.Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", n.Name(), info.Mode(), err)
		}
	}
	r, err := keyring.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.All()) != 2 || len(r.Exposed) != 0 {
		t.Errorf("%d keys, exposed %v", len(r.All()), r.Exposed)
	}
	for _, k := range []tagcode.Key{first, second} {
		if got, err := r.Current(k.Fingerprint()); err != nil || got != k {
			t.Errorf("key %s: %v", k.Fingerprint(), err)
		}
	}
	if _, err := r.Current(tagcode.Fingerprint{}); !errors.Is(err, keyring.ErrNoKey) {
		t.Errorf("a key that is not there: %v", err)
	}
}

func TestWriteFileNeverOverwrites(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.key")
	key, err := tagcode.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("somebody's"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := keyring.WriteFile(path, key); !errors.Is(err, keyring.ErrExists) {
		t.Errorf("got %v", err)
	}
	if text, err := os.ReadFile(path); err != nil || string(text) != "somebody's" {
		t.Errorf("the file now holds %q, %v", text, err)
	}
	if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if err := keyring.WriteFile(path, tagcode.Key{}); err == nil {
		t.Error("the zero key was written")
	}
}

func TestBadFiles(t *testing.T) {
	key, err := tagcode.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	good, err := key.MarshalText()
	if err != nil {
		t.Fatal(err)
	}
	cases := map[string][]byte{
		"empty":        nil,
		"cut":          good[:len(good)/2],
		"one letter":   bytes.Replace(good, []byte("A"), []byte("B"), 1),
		"two lines":    append(good[:len(good):len(good)], good...),
		"binary":       {0, 1, 2, 3},
		"far too long": []byte(strings.Repeat("A", 1<<20)),
	}
	if !bytes.Contains(good, []byte("A")) {
		delete(cases, "one letter") // nothing to change in this key
	}
	for name, text := range cases {
		dir := t.TempDir()
		path := filepath.Join(dir, "x.key")
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := keyring.Load(dir); !errors.Is(err, keyring.ErrBad) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestExposed(t *testing.T) {
	dir := t.TempDir()
	key, err := keyring.Create(dir, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, key.Fingerprint().String()+".key")
	if err := os.Chmod(path, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "README"), []byte("not a key"), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := keyring.Load(dir)
	if err != nil || len(r.All()) != 1 || len(r.Exposed) != 1 || r.Exposed[0] != path {
		t.Errorf("%d keys, exposed %v, %v", len(r.All()), r.Exposed, err)
	}
}

func TestExposedFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.key")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for mode, want := range map[os.FileMode]bool{0o600: false, 0o400: false, 0o640: true, 0o604: true, 0o602: true, 0o666: true} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		if got, err := keyring.Exposed(path); err != nil || got != want {
			t.Errorf("%o is open to others: %t, %v, want %t", mode, got, err, want)
		}
	}
	if _, err := keyring.Exposed(filepath.Join(t.TempDir(), "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}
