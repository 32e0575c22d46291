// Command partwright checks part-writing: it reads MusicXML scores, finds their
// voices, says where they break the conventions of four-part and keyboard
// harmony, and writes the score back with the remarks in it.
package main

import (
	"os"

	"partwright/api/command"
)

func main() {
	os.Exit(command.Run(program(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func program() command.Program { return command.Program{Version: version(), Serve: serve} }
