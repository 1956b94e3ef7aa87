# cmake -DOUTPUT=FILE.cpp -DHEADER=layer/header.h "-DNAMES=kOne|kTwo" "-DFILES=one.js|two.css" -P embed.cmake
#
# Writes a .cpp in which each name is a std::string_view of the bytes of its file; HEADER declares the names. The
# files become bytes of the program, so that it needs nothing beside itself.
string(REPLACE "|" ";" names "${NAMES}")
string(REPLACE "|" ";" files "${FILES}")

# A literal of 64 bytes a line: compilers and people do not like lines of a megabyte.
string(REPEAT "." 128 line_of_digits)
function(literal file result)
  file(READ ${file} bytes HEX)
  string(REGEX REPLACE "(${line_of_digits})" "\\1\n" bytes "${bytes}")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "\\\\x\\1" bytes "${bytes}")
  string(REGEX REPLACE "([^\n]+)" "    \"\\1\"" bytes "${bytes}")
  set(${result} "${bytes}" PARENT_SCOPE)
endfunction()

set(code "// Written by src/embed.cmake; never edited.\n#include \"${HEADER}\"\n\nnamespace hearwood {\n")
foreach(name file IN ZIP_LISTS names files)
  literal(${file} bytes)
  file(SIZE ${file} size)
  string(APPEND code "\nconst std::string_view ${name}{\n${bytes}, ${size}};\n")
endforeach()
file(WRITE ${OUTPUT} "${code}\n}  // namespace hearwood\n")
