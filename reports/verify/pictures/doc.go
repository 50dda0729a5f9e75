// Package pictures works out what a reviewer who knows isolators looks at: all readings on one curve, over how far the
// rotation is from the null (Collapse); where over wavelength and temperature the unit isolates (Valley); and what the
// leakage of single readings is made of (Ledger). They are data; package figure of reports draws them.
package pictures
