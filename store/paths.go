package store

import (
	"os"
	"path/filepath"
)

// The names inside a register's directory.
const (
	registerFile = "register.sqlite"
	deskFile     = "desk.sqlite"
	keysDir      = "keys"
)

// Paths gives the files of the register at path, which may be its directory or
// the register's own file: the register, the desk's file and the directory of
// keys. Nothing needs to be there yet; a path whose file name ends in .sqlite is
// taken for the register's own.
func Paths(path string) (register, desk, keys string) {
	dir := path
	info, err := os.Stat(path)
	if err == nil && !info.IsDir() || err != nil && filepath.Ext(path) == filepath.Ext(registerFile) {
		dir = filepath.Dir(path)
		return path, filepath.Join(dir, deskFile), filepath.Join(dir, keysDir)
	}
	return filepath.Join(dir, registerFile), filepath.Join(dir, deskFile), filepath.Join(dir, keysDir)
}
