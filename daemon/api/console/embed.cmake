# cmake -DLIST=… -DTO=… -P embed.cmake: writes the source that has the listed files' bytes in it. The assembler reads
# them (.incbin): as text of C++ they would take the compiler longer than all the rest of this folder.
set(type_html "text/html; charset=utf-8")
set(type_css "text/css; charset=utf-8")
set(type_js "text/javascript; charset=utf-8")
set(type_txt "text/plain; charset=utf-8")

set(blobs "")
set(declarations "")
set(entries "")
set(number 0)
file(STRINGS ${LIST} lines)
foreach(line ${lines})
  string(REPLACE "|" ";" pair "${line}")
  list(GET pair 0 address)
  list(GET pair 1 source)
  get_filename_component(extension ${source} LAST_EXT)
  string(SUBSTRING "${extension}x" 1 -1 extension)
  string(REGEX REPLACE "x$" "" extension "${extension}")
  if(extension STREQUAL "")
    set(extension txt)
  endif()
  if(NOT DEFINED type_${extension})
    message(FATAL_ERROR "${source}: nobody said what content type .${extension} has")
  endif()
  file(SHA256 ${source} digest)
  string(SUBSTRING ${digest} 0 32 tag)
  file(SIZE ${source} size)
  string(APPEND blobs "        \"girdle_console_${number}: .incbin \\\"${source}\\\"\\n\"\n")
  string(APPEND declarations "extern const char kBytes${number}[] asm(\"girdle_console_${number}\");\n")
  string(APPEND entries
    "    {\"${address}\", \"${type_${extension}}\", {kBytes${number}, ${size}}, \"\\\"${tag}\\\"\"},\n")
  math(EXPR number "${number} + 1")
endforeach()

file(WRITE ${TO} "// Made by daemon/api/console/embed.cmake.
#include \"api/console_files.h\"

asm(\".pushsection .rodata.girdle_console,\\\"a\\\",%progbits\\n\"
${blobs}        \".popsection\\n\");

namespace girdle::api {
namespace {

extern \"C\" {
${declarations}}

const ConsoleFile kFiles[] = {
${entries}};

}  // namespace

std::span<const ConsoleFile> console_files() { return kFiles; }

}  // namespace girdle::api
")
