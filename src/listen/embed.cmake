# cmake -DSCRIPT=... -DSTYLE=... -DOUTPUT=... -P embed.cmake: writes a .cpp that holds both files' bytes.
function(literal file result)
  file(READ ${file} bytes HEX)
  string(REGEX REPLACE "(................................................................)" "\\1\n" bytes "${bytes}")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "\\\\x\\1" bytes "${bytes}")
  string(REGEX REPLACE "([^\n]+)" "    \"\\1\"" bytes "${bytes}")
  set(${result} "${bytes}" PARENT_SCOPE)
endfunction()

literal(${SCRIPT} script)
literal(${STYLE} style)
file(SIZE ${SCRIPT} script_size)
file(SIZE ${STYLE} style_size)
file(WRITE ${OUTPUT} "// Written by src/listen/embed.cmake; never edited.
#include \"listen/page.h\"

namespace hearwood {

const std::string_view kListenScript{
${script}, ${script_size}};

const std::string_view kListenStyle{
${style}, ${style_size}};

}  // namespace hearwood
")
