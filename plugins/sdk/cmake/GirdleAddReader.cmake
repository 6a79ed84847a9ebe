# girdle_add_reader(NAME SOURCES file… [LINKS target…] [SAMPLES folder] [VET argument…])
#
# Builds the target girdle_reader_NAME, girdle-reader-NAME.so, which exports girdle_reader_negotiate and
# girdle_reader_descriptor_at and nothing else, into ${CMAKE_BINARY_DIR}/readers, and puts NAME.reader.yaml, its manifest
# in the current source folder, beside it. With SAMPLES, ctest runs `girdled vet` on them, with the arguments VET, as
# NAME.vet.
function(girdle_add_reader name)
  cmake_parse_arguments(ARG "" "SAMPLES" "SOURCES;LINKS;VET" ${ARGN})
  set(target girdle_reader_${name})
  set(library girdle-reader-${name})
  set(folder ${CMAKE_BINARY_DIR}/readers)
  set(exported ${CMAKE_CURRENT_FUNCTION_LIST_DIR}/reader.map)
  if(NOT name MATCHES "^[a-z0-9-]+$")
    message(FATAL_ERROR "girdle_add_reader: the name of a reader has a-z, 0-9 and -, and nothing else: ${name}")
  endif()
  _girdle_check_manifest(${name} ${library}.so)

  add_library(${target} MODULE ${ARG_SOURCES})
  target_link_libraries(${target} PRIVATE Girdle::Reader ${ARG_LINKS})
  # Hidden, and a version script: templates and statically linked libraries would otherwise leave symbols that two
  # readers share without wanting to.
  set_target_properties(${target} PROPERTIES
    PREFIX "" SUFFIX .so OUTPUT_NAME ${library}
    LIBRARY_OUTPUT_DIRECTORY ${folder}
    C_VISIBILITY_PRESET hidden CXX_VISIBILITY_PRESET hidden VISIBILITY_INLINES_HIDDEN ON
    C_STANDARD 11 CXX_STANDARD 20 CXX_STANDARD_REQUIRED ON
    LINK_DEPENDS ${exported})
  target_link_options(${target} PRIVATE LINKER:--version-script=${exported})
  # What is missing is for the linker to tell, and not for girdled. Sanitizers bring symbols of their own.
  if(NOT GIRDLE_SANITIZE AND NOT "${CMAKE_C_FLAGS} ${CMAKE_CXX_FLAGS} ${CMAKE_MODULE_LINKER_FLAGS}" MATCHES "-fsanitize")
    target_link_options(${target} PRIVATE LINKER:-z,defs)
  endif()
  configure_file(${name}.reader.yaml ${folder}/${name}.reader.yaml COPYONLY)

  if(ARG_SAMPLES)
    if(NOT Girdle_PROGRAM)
      message(FATAL_ERROR "girdle_add_reader: SAMPLES are for girdled vet, and there is no girdled beside this package; "
                          "say where it is with -DGirdle_PROGRAM=")
    endif()
    cmake_path(ABSOLUTE_PATH ARG_SAMPLES BASE_DIRECTORY ${CMAKE_CURRENT_SOURCE_DIR})
    add_test(NAME ${name}.vet
      COMMAND ${Girdle_PROGRAM} vet ${folder}/${name}.reader.yaml --samples ${ARG_SAMPLES} ${ARG_VET})
  endif()
endfunction()

# girdle_install_reader(NAME [DESTINATION folder]): library and manifest, into ${Girdle_READERS_FOLDER} or elsewhere.
function(girdle_install_reader name)
  cmake_parse_arguments(ARG "" "DESTINATION" "" ${ARGN})
  if(NOT ARG_DESTINATION)
    set(ARG_DESTINATION ${Girdle_READERS_FOLDER})
  endif()
  install(TARGETS girdle_reader_${name} LIBRARY DESTINATION ${ARG_DESTINATION})
  install(FILES ${name}.reader.yaml DESTINATION ${ARG_DESTINATION})
endfunction()

# The two lines of a manifest that the build has to agree with.
function(_girdle_check_manifest name library)
  set(manifest ${CMAKE_CURRENT_SOURCE_DIR}/${name}.reader.yaml)
  if(NOT EXISTS ${manifest})
    message(FATAL_ERROR "girdle_add_reader: ${manifest}, the manifest of the reader ${name}, is not there")
  endif()
  foreach(key name library)
    file(STRINGS ${manifest} line REGEX "^${key}:")
    if(NOT line MATCHES "^${key}:[ \t]*[\"']?([^ \t\"'#]*)[\"']?[ \t]*(#.*)?$" OR NOT CMAKE_MATCH_1 STREQUAL "${${key}}")
      message(FATAL_ERROR "girdle_add_reader: ${manifest} has to say\n  ${key}: ${${key}}\nand says\n  ${line}")
    endif()
  endforeach()
endfunction()
