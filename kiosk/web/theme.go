package web

import (
	"net/http"
	"net/url"
	"strings"
)

// The theme cookie holds "day" or "night" for this browser; without it the page
// is as the device has it.
const themeCookie = "cribgate_theme"

func themeOf(r *http.Request) string {
	c, err := r.Cookie(themeCookie)
	if err != nil || c.Value != "day" && c.Value != "night" {
		return ""
	}
	return c.Value
}

func (s *Server) setTheme(v *visit) error {
	c := &http.Cookie{Name: themeCookie, Path: "/", MaxAge: 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure || v.r.TLS != nil}
	switch theme := v.raw("theme"); theme {
	case "day", "night":
		c.Value = theme
	default:
		c.MaxAge = -1
	}
	http.SetCookie(v.w, c)
	return v.redirect(ownPath(v.raw("back")))
}

// ownPath returns the path of text if it is an address of ours, else "/".
func ownPath(text string) string {
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/") ||
		strings.HasPrefix(u.Path, "//") || strings.Contains(u.Path, "\\") {
		return "/"
	}
	return u.EscapedPath()
}
