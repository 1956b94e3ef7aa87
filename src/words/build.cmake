# The sentences of the language files, checked against each other and compiled in.
file(GLOB word_files CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/words/*.toml)
set(word_table ${CMAKE_BINARY_DIR}/generated/words/sentences.inc)
add_custom_command(OUTPUT ${word_table}
  COMMAND ${CMAKE_COMMAND} -DFOLDER=${CMAKE_CURRENT_SOURCE_DIR}/words -DOUT=${word_table}
          -P ${CMAKE_CURRENT_SOURCE_DIR}/words/embed.cmake
  DEPENDS ${word_files} ${CMAKE_CURRENT_SOURCE_DIR}/words/embed.cmake VERBATIM)
add_custom_target(word_table DEPENDS ${word_table})
add_dependencies(words word_table)

set(words_folder ${CMAKE_CURRENT_LIST_DIR})
hearwood_embed(words words/printed_page.h kSheetStyle ${words_folder}/sheet.css kSheetTemplate ${words_folder}/sheet.html)
hearwood_embed(words words/family.h kPaperStyle ${words_folder}/paper.css kFamilyStyle ${words_folder}/family.css
               kTypeRegular ${words_folder}/type/regular.woff2 kTypeItalic ${words_folder}/type/italic.woff2
               kTypeBold ${words_folder}/type/bold.woff2)
