// Package program evaluates many stacks that are alike but for the values of some numbers: the sum over paths, laid out
// flat for Width stacks at once. It is what trials run on; package stack lays the stacks out for it, and its tracer
// is what it is held against.
//
// A stack here is faces in a row with a medium between each two: plane faces whose coatings take the same share of
// either polarization, isotropic media, uniaxial crystals, and films that turn the polarization. The first and the last
// face are those of crystals. New says of any other stack that it has no program.
//
// What makes it fast, each proved or measured against the tracer (program_test.go of package stack):
//
//   - Numbers of Width stacks lie side by side, and a step of a path is one loop over them. Nothing is allocated once a
//     Machine is made.
//   - Forward and backward light of a path share their rays, phase and overlap, by reciprocity; only the sign of a
//     film's rotation differs.
//   - The phase of a path needs no positions: faces pass through the z axis, so that it is the sum of N.z dz along it.
//   - Each path is traced along its own ray from the start, midway between what sends it and what waits for it.
//   - The light of a path is a row and a column times one number, so that what is summed up is one number for each pair
//     of paths.
//   - A double bounce between flat faces leaves along its path: its phase does not matter where it adds in power, and
//     its overlap follows from that of the path by how far aside and how much further on it arrives.
//   - Paths that cannot reach the receiver are left out, by a bound on what they could bring that is worked out for
//     every stack anew.
//
// A stack that a guard finds outside what this covers is marked, and is the tracer's: see Machine.Left. No result
// depends on which stacks are evaluated together.
//
// Units are SI; wave vectors are over k0 = 2 pi / vacuum wavelength.
package program
