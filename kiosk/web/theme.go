package web

import (
	"net/http"
	"net/url"
	"strings"
)

// What a browser, and so a station, wants for itself: "day" or "night", without it
// as the device has it; and "off" where verdicts are to make no sound.
const (
	themeCookie = "cribgate_theme"
	soundCookie = "cribgate_sound"
)

func themeOf(r *http.Request) string { return wish(r, themeCookie, "day", "night") }

// silent tells whether this browser makes no sound.
func silent(r *http.Request) bool { return wish(r, soundCookie, "off") != "" }

// wish is the value of a cookie, empty where it is none of the words.
func wish(r *http.Request, name string, words ...string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	for _, w := range words {
		if c.Value == w {
			return w
		}
	}
	return ""
}

func (s *Server) setTheme(v *visit) error {
	c := &http.Cookie{Name: themeCookie, Path: "/", MaxAge: 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure || v.r.TLS != nil}
	switch sound, theme := v.raw("sound"), v.raw("theme"); {
	case sound == "off":
		c.Name, c.Value = soundCookie, sound
	case sound != "":
		c.Name, c.MaxAge = soundCookie, -1
	case theme == "day", theme == "night":
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
