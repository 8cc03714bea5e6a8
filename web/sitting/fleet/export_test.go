//go:build fleet

package fleet

// Sleep stops the renewing of a process's key, as if the process were stopped, and leaves the rest as it is.
func (d *Directory) Sleep() { d.beat.Stop() }
