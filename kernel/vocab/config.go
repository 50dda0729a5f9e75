package vocab

import (
	"wedgework/kernel/session"
	"wedgework/reports/document"
)

// Config is a session with the whole vocabulary around a host. Whoever watches adds Progress.
func Config(h Host) session.Config {
	return session.Config{
		Words:    Words(),
		Local:    map[string]any{HostKey: h, settingsKey: newSettings()},
		Show:     Show,
		Bundle:   document.Bundle,
		Outline:  Outline,
		Keys:     PathsOf,
		Describe: Describe,
		Source:   loaded,
		Loads:    filesLike(".star"),

		Spellings: spellings,
	}
}
