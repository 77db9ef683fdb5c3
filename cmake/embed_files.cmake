# Writes the files of a folder into a program: one assembler file that includes each byte for byte, and a C++ table.
# cmake -DFOLDER=web/dist -DOUT=build/... -P embed_files.cmake; an empty or missing folder gives an empty table.
file(GLOB_RECURSE files RELATIVE "${FOLDER}" "${FOLDER}/*")
list(SORT files)
set(assembler ".section .rodata\n")
set(declared "")
set(table "")
set(number 0)
foreach(file IN LISTS files)
  string(APPEND assembler ".balign 16\nkw_file_${number}:\n.incbin \"${FOLDER}/${file}\"\nkw_file_${number}_end:\n.byte 0\n"
    ".global kw_file_${number}\n.global kw_file_${number}_end\n")
  string(APPEND declared "extern const char kw_file_${number}[], kw_file_${number}_end[];\n")
  string(APPEND table "      {\"${file}\", {kw_file_${number}, static_cast<std::size_t>(kw_file_${number}_end - kw_file_${number})}},\n")
  math(EXPR number "${number} + 1")
endforeach()
string(APPEND assembler ".section .note.GNU-stack,\"\",%progbits\n")
if(number EQUAL 0)
  set(body "  return {};\n")
else()
  set(body "  static const Asset table[] = {\n${table}  };\n  return table;\n")
endif()
file(WRITE "${OUT}/built_in_assets.S" "${assembler}")
file(WRITE "${OUT}/built_in_assets.cpp" "#include <cstddef>
#include <span>

#include \"serve/assets.h\"

extern \"C\" {
${declared}}

namespace serve {

std::span<const Asset> built_in_assets();
std::span<const Asset> built_in_assets() {
${body}}

}  // namespace serve
")
