package signature

import (
	"fmt"
	"slices"
	"strings"
)

// Roles are those in which a report is signed, in the order in which that is done.
var Roles = []string{"prepared", "reviewed", "approved"}

// CheckRole refuses what is no role; "" is a signature that says none.
func CheckRole(role string) error {
	if role == "" || slices.Contains(Roles, role) {
		return nil
	}
	return fmt.Errorf("found the role %q, expected one of %s", role, strings.Join(Roles, ", "))
}

// Path is where the signature of a report in a role stands: REPORT.pdf.sig, REPORT.pdf.reviewed.sig.
func Path(report, role string) string {
	if role == "" {
		return report + Extension
	}
	return report + "." + role + Extension
}

// Of lists the roles of the signatures beside a report, "" for one that says none.
func Of(report string) []string {
	var found []string
	for _, role := range append([]string{""}, Roles...) {
		if there(Path(report, role)) {
			found = append(found, role)
		}
	}
	return found
}

// Cut splits ROLE=KEY; a text that does not begin with a role and = is all key.
func Cut(text string) (role, key string) {
	if role, key, ok := strings.Cut(text, "="); ok && slices.Contains(Roles, role) {
		return role, key
	}
	return "", text
}

// namespaceOf binds a signature to its role (PROTOCOL.sshsig): one made in a role is none in another. The one without
// is that which ssh-keygen documents for signatures of files.
func namespaceOf(role string) string {
	if role == "" {
		return "file"
	}
	return role + "@wedgework"
}
