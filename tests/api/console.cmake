# The console: what is embedded, and what a browser makes of it.
girdle_test(api_console SOURCES console_files_test.cc DEPENDS api)

find_program(NODE node)
find_program(NPM npm)
find_program(CHROMIUM chromium)
if(NODE AND NPM AND CHROMIUM)
  set(console_folder ${PROJECT_SOURCE_DIR}/tests/console)
  set(browser --npm ${CMAKE_BINARY_DIR}/tests/npm --chromium ${CHROMIUM})
  add_test(NAME console.words COMMAND ${NODE} ${console_folder}/words.mjs)
  add_test(NAME console.pages COMMAND ${NODE} ${console_folder}/pages.mjs ${browser})
  add_test(NAME console.busy COMMAND ${NODE} ${console_folder}/busy.mjs ${browser})
  add_test(NAME console.day COMMAND ${NODE} ${console_folder}/day.mjs ${browser} --girdled $<TARGET_FILE:girdled>)
  set_tests_properties(console.words PROPERTIES TIMEOUT 30)
  # One browser at a time: what a page costs is measured.
  set_tests_properties(console.pages console.busy console.day PROPERTIES FIXTURES_REQUIRED npm RESOURCE_LOCK chromium TIMEOUT 300)
else()
  message(WARNING "Without node, npm and chromium nobody looks at the console's pages")
endif()
