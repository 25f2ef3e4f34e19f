package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

//go:embed static
var staticFiles embed.FS

// contentTypes of the files that we serve; another ending is a mistake.
var contentTypes = map[string]string{
	".css": "text/css; charset=utf-8",
	".js":  "text/javascript; charset=utf-8",
	".ttf": "font/ttf",
	".txt": "text/plain; charset=utf-8",
	".svg": "image/svg+xml",
}

// assets serves the embedded files under an address that holds a hash of them
// all, so that a browser may keep them for good and a style sheet can name its
// fonts by relative address.
type assets struct {
	prefix string // "/static/HASH/"
	files  map[string][]byte
}

func loadAssets() (*assets, error) {
	a := &assets{files: map[string][]byte{}}
	sum := sha256.New()
	err := fs.WalkDir(staticFiles, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if contentTypes[path.Ext(name)] == "" {
			return fmt.Errorf("%s: no content type for this ending", name)
		}
		data, err := staticFiles.ReadFile(name)
		if err != nil {
			return err
		}
		fmt.Fprintf(sum, "%s %d\n", name, len(data))
		sum.Write(data)
		a.files[strings.TrimPrefix(name, "static/")] = data
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("web: load assets: %w", err)
	}
	a.prefix = "/static/" + hex.EncodeToString(sum.Sum(nil)[:8]) + "/"
	return a, nil
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, a.prefix)
	data, ok := a.files[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", contentTypes[path.Ext(name)])
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(data))
}
