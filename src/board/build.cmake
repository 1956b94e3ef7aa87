hearwood_embed(board board/board_html.h kBoardTemplate ${CMAKE_CURRENT_LIST_DIR}/board.html)
