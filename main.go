// Command partwright checks part-writing: it reads MusicXML scores, finds their
// voices, says where they break the conventions of four-part and keyboard
// harmony, and writes the score back with the remarks in it.
package main

import (
	"fmt"
	"os"

	"partwright/api/command"
	"partwright/worker/wall"
)

func main() {
	if isChild(os.Args) {
		os.Exit(workForParent())
	}
	os.Exit(command.Run(program(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func program() command.Program { return command.Program{Version: version(), Serve: serve} }

// isChild tells that this is a process in which a service has its scores worked on.
func isChild(args []string) bool { return len(args) == 2 && args[1] == wall.Argument }

func workForParent() int {
	if err := wall.Serve(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}
