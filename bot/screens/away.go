package screens

// Away tells somebody who presses something in a workplace that has taken the
// app away. page is where it is installed; it may be empty.
func Away(page string) string {
	const text = "Soundings is not installed in this workplace just now, so nothing was changed. Please ask whoever looks after its apps to install it again"
	if page == "" {
		return text + "."
	}
	return text + ": " + page
}
