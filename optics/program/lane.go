package program

import "math"

// Width is how many stacks are evaluated together: the room that their numbers take stays near the processor, and one
// step of a path is long enough to outweigh its call.
const Width = 64

// Lane is one number of Width stacks.
type Lane [Width]float64

// Fill sets the number of all stacks.
func (l *Lane) Fill(v float64) {
	for i := range Width {
		l[i] = v
	}
}

// Face is a plane face through (0, 0, At) with the unit normal (X, Y, Z).
type Face struct{ X, Y, Z, At Lane }

// Axis is the direction of a crystal's optic axis, a unit vector.
type Axis struct{ X, Y, Z Lane }

// Scene is Width stacks laid out at one temperature.
type Scene struct {
	Faces   []Face
	Axes    []Axis // of the crystals, in the order of +z
	In, Out Lane   // z of the lens faces, launching and receiving

	// Collimators is the share of the power that the collimators pass by themselves, Reflect that which each face
	// reflects; Settle works out what follows from them.
	Collimators Lane
	Reflect     []Lane
	pass        Lane   // of the power, by all faces and the collimators
	bounce      []Lane // of each pair of faces, the share of the power that comes through by it
}

// Medium is what lies behind a face.
type Medium struct {
	Index, Group   float64 // phase and group index of an isotropic medium
	Absorption     float64 // of the power, 1/m
	O, E           float64 // phase indices of a crystal
	GroupO, GroupE float64 // group indices of a crystal
}

// Light is Width stacks at one wavelength and temperature, beside their Scene.
type Light struct {
	Wavelength float64  // in vacuum, m
	Waist      float64  // of either collimator, m
	Ahead      float64  // of its waist in front of the lens face, m
	Media      []Medium // behind each face
	Films      []Film   // in the order of +z
}

// Film turns the polarization, +x towards +y for light either way.
type Film struct {
	Sin, Cos Lane // of the rotation
	// amplitudes of the light that keeps to it and of what leaves turned a further 90 deg
	Kept, Crossed Lane
}

// Turn sets a film of one stack: its rotation in radians, and the share of the power that is turned a further 90 deg.
func (f *Film) Turn(i int, rotation, crossed float64) {
	f.Sin[i], f.Cos[i] = math.Sincos(rotation)
	f.Kept[i], f.Crossed[i] = math.Sqrt(1-crossed), math.Sqrt(crossed)
}

// Pose is where the receiving collimators stand: offset in the plane of the lens face, and transverse components of the
// unit vector along the axis.
type Pose struct{ X, Y, TiltX, TiltY Lane }
