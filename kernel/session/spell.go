package session

// meant is the tail of a message that offers a spelling.
func meant(prefix, name string) string {
	if name == "" {
		return ""
	}
	return "; did you mean " + prefix + name + "?"
}
