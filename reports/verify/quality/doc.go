// Package quality says whether the data are good enough to draw conclusions from. Every check is one function of a
// Subject in the list checks; its outcome is 0 where the file does not state what the check would need.
package quality
