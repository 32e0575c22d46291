//go:build !race

package wall

// raceDetector tells whether this is a test under the race detector.
const raceDetector = false
