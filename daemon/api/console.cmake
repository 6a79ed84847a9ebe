# The console's pages, embedded as they lie in console/. A file that is not listed is not served.
set(console_folder ${CMAKE_CURRENT_LIST_DIR}/console)
set(console_names
  index.html style.css
  api.js app.js dialog.js dom.js live.js marks.js session.js times.js words.js
  pages/aside.js pages/bench.js pages/case.js pages/cases.js pages/facts.js pages/instrument.js pages/instruments.js
  pages/now.js pages/outlets.js pages/parts.js pages/record.js pages/setup.js pages/subject.js pages/timeline.js
  pages/unbound.js pages/waiting.js
  words/en.js words/pseudo.js)

# Somebody else's, from Debian's package libjs-chart.js; its licence (Expat) asks for its text beside every copy.
find_file(GIRDLE_CHART_JS chart.min.js PATHS /usr/share/javascript/chart.js NO_DEFAULT_PATH)
find_file(GIRDLE_CHART_LICENCE copyright PATHS /usr/share/doc/libjs-chart.js NO_DEFAULT_PATH)
if(NOT GIRDLE_CHART_JS OR NOT GIRDLE_CHART_LICENCE)
  message(FATAL_ERROR "The console's charts need the Debian package libjs-chart.js, with its copyright file")
endif()

# One line a file: the address, a "|", where its bytes lie.
set(lines "/console/chart.js|${GIRDLE_CHART_JS}\n/console/chart-licence.txt|${GIRDLE_CHART_LICENCE}\n")
set(console_sources ${GIRDLE_CHART_JS} ${GIRDLE_CHART_LICENCE})
foreach(name ${console_names})
  if(name STREQUAL "index.html")
    string(APPEND lines "/|${console_folder}/${name}\n")
  else()
    string(APPEND lines "/console/${name}|${console_folder}/${name}\n")
  endif()
  list(APPEND console_sources ${console_folder}/${name})
endforeach()
set(console_list ${CMAKE_CURRENT_BINARY_DIR}/console_files.list)
file(CONFIGURE OUTPUT ${console_list} CONTENT "${lines}" @ONLY)

set(console_embedded ${CMAKE_CURRENT_BINARY_DIR}/console_files.cc)
add_custom_command(OUTPUT ${console_embedded}
  COMMAND ${CMAKE_COMMAND} -DLIST=${console_list} -DTO=${console_embedded} -P ${console_folder}/embed.cmake
  DEPENDS ${console_list} ${console_folder}/embed.cmake ${console_sources}
  COMMENT "Embedding the console's pages" VERBATIM)
