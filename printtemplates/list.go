package printtemplates

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed *.json
var files embed.FS

// ErrUnknown is what Open wraps for a name that no stock has.
var ErrUnknown = errors.New("no such stock")

// List returns the stocks' names in order. It reads the embedded files' names
// only; Open reads a stock.
func List() ([]string, error) {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, fmt.Errorf("printtemplates: list stocks: %w", err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".json"))
	}
	return names, nil
}

// OfKind returns the stocks of a kind, in the order of their names.
func OfKind(k Kind) ([]Stock, error) {
	names, err := List()
	if err != nil {
		return nil, err
	}
	var stocks []Stock
	for _, name := range names {
		s, err := Open(name)
		if err != nil {
			return nil, err
		}
		if s.Kind == k {
			stocks = append(stocks, s)
		}
	}
	return stocks, nil
}

// Open reads the stock of that name. It fails with ErrUnknown where there is
// none.
func Open(name string) (Stock, error) {
	if !isName(name) {
		return Stock{}, fmt.Errorf("printtemplates: open stock %q: %w", name, ErrUnknown)
	}
	data, err := files.ReadFile(name + ".json")
	if errors.Is(err, fs.ErrNotExist) {
		return Stock{}, fmt.Errorf("printtemplates: open stock %q: %w", name, ErrUnknown)
	}
	if err != nil {
		return Stock{}, fmt.Errorf("printtemplates: open stock %s: %w", name, err)
	}
	return Parse(name, data)
}
