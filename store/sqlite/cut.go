package sqlite

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// Where the header of a file says how long it is ("Database File Format" of
// sqlite.org, section 1.3, the database header).
const (
	headerLength  = 100
	atPageSize    = 16 // two bytes; 1 stands for 65,536
	atChanges     = 24
	atPages       = 28
	atPagesValid  = 92 // number of changes for which the number of pages holds
	largestPage   = 65536
	smallestPage  = 512
	headerBegins  = "SQLite format 3\x00"
	headerLetters = len(headerBegins)
)

// Cut says in a sentence that a file is shorter than its header says; empty where
// it is not, or where that cannot be told: a write-ahead log beside it may have
// the rest, and a header that is no header says nothing.
func Cut(path string) (sentence string, err error) {
	if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
		return "", nil
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", ErrMissing
	}
	if err != nil {
		return "", explainFile(err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	info, err := f.Stat()
	if err != nil {
		return "", explainFile(err)
	}
	var header [headerLength]byte
	if _, err := io.ReadFull(f, header[:]); errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return fmt.Sprintf("the file is cut: it has %d bytes and no header", info.Size()), nil
	} else if err != nil {
		return "", explainFile(err)
	}
	size := int64(binary.BigEndian.Uint16(header[atPageSize:]))
	if size == 1 {
		size = largestPage
	}
	pages := int64(binary.BigEndian.Uint32(header[atPages:]))
	if string(header[:headerLetters]) != headerBegins || size < smallestPage || size&(size-1) != 0 ||
		string(header[atChanges:atChanges+4]) != string(header[atPagesValid:atPagesValid+4]) {
		return "", nil
	}
	if info.Size() >= pages*size {
		return "", nil
	}
	return fmt.Sprintf("the file is cut: it has %d bytes, which are %d pages and %d bytes, of %d pages of %d bytes",
		info.Size(), info.Size()/size, info.Size()%size, pages, size), nil
}
