package web

import "net/http"

// suits is how a tablet is laid out for whoever works at it: kept at the tablet, in a cookie for each choice.
type suits struct{ Mirrored, Contrast bool }

// Classes are those of the page's body.
func (t suits) Classes() string {
	c := ""
	if t.Mirrored {
		c += " mirrored"
	}
	if t.Contrast {
		c += " contrast"
	}
	return c
}

// suitsOf reads what a browser keeps.
func suitsOf(r *http.Request) suits {
	on := func(name string) bool {
		c, err := r.Cookie(name)
		return err == nil && c.Value == "on"
	}
	return suits{on("mirrored"), on("contrast")}
}

// chooses keeps what ?mirrored=on or ?contrast=off asks for and sends the browser back to the page without it; false: nothing
// was asked for.
func chooses(w http.ResponseWriter, r *http.Request) bool {
	for _, name := range []string{"mirrored", "contrast"} {
		if v := r.URL.Query().Get(name); v == "on" || v == "off" {
			http.SetCookie(w, &http.Cookie{Name: name, Value: v, Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true})
			http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
			return true
		}
	}
	return false
}
