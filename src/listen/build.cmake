# The listening page, its script and style become bytes of the program.
set(listen_web ${CMAKE_CURRENT_LIST_DIR}/web)
hearwood_embed(listen listen/page.h kListenScript ${listen_web}/listen.js kListenStyle ${listen_web}/listen.css
               kListenTemplate ${listen_web}/listen.html)
