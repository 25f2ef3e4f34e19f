package web

import (
	"bufio"
	"context"
	"crypto/rand"
	"fmt"
	"net"
	"net/http"
	"runtime/debug"
	"time"
)

type contextKey int

const idKey contextKey = 0

// requestID returns the reference number of a request, empty outside one.
func requestID(ctx context.Context) string {
	id, _ := ctx.Value(idKey).(string)
	return id
}

// newID draws a reference number that can be read over the telephone.
func newID() string {
	text := rand.Text()
	return text[:4] + "-" + text[4:8]
}

// observe numbers each request, logs it without its address or form (which may
// carry what was scanned or typed), and turns a panic into an answer. It is one
// of the two places that recover.
func (s *Server) observe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begin := time.Now()
		r = r.WithContext(context.WithValue(r.Context(), idKey, newID()))
		seen := &recorder{ResponseWriter: w}
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.Log.ErrorContext(r.Context(), "panic", "id", requestID(r.Context()),
					"value", fmt.Sprint(p), "stack", string(debug.Stack()))
				if seen.status == 0 {
					http.Error(seen, sorry+" Reference "+requestID(r.Context())+".", http.StatusInternalServerError)
				}
			}
			s.Log.InfoContext(r.Context(), "request", "id", requestID(r.Context()), "method", r.Method,
				"status", seen.status, "bytes", seen.bytes, "took", time.Since(begin))
		}()
		next.ServeHTTP(seen, r)
	})
}

// recorder notes what was answered.
type recorder struct {
	http.ResponseWriter
	status int
	bytes  int
}

func (r *recorder) WriteHeader(status int) {
	if r.status == 0 {
		r.status = status
	}
	r.ResponseWriter.WriteHeader(status)
}

func (r *recorder) Write(b []byte) (int, error) {
	if r.status == 0 {
		r.status = http.StatusOK
	}
	n, err := r.ResponseWriter.Write(b)
	r.bytes += n
	return n, err
}

// Hijack hands over the connection; the live pages' library asks the writer
// itself and knows no http.ResponseController.
func (r *recorder) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	r.status = http.StatusSwitchingProtocols
	return http.NewResponseController(r.ResponseWriter).Hijack()
}

// Unwrap gives http.ResponseController the way through.
func (r *recorder) Unwrap() http.ResponseWriter { return r.ResponseWriter }

// policy allows a page what we serve ourselves, and no script or style inside
// the page.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; " +
	"font-src 'self'; connect-src 'self'; media-src 'self'; manifest-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// protect sets the headers of every page.
func protect(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		// Not "no-referrer": a browser then sends "Origin: null" with our own
		// forms, which on plain HTTP cannot be told from another site's.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}
