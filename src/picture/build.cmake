hearwood_embed(picture picture/font.h kLetters ${CMAKE_CURRENT_LIST_DIR}/letters.bin)
