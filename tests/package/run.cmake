# Installs the build into BUILD/package, then configures, builds and runs the project of CONSUMER against it:
# once through find_package(meniscus), once through pkg-config; and does what docs/plugin.md says with the plug-in: a
# program in C through pkg-config, one in C++ through find_package, one in Python.
#
# Takes: BUILD, CONSUMER, GENERATOR, COMPILER, PYTHON, PAGE
function(run what)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE status OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "${what} failed:\n${output}")
  endif()
endfunction()

set(prefix ${BUILD}/package)
file(REMOVE_RECURSE ${prefix} ${BUILD}/package-consumer)
run("installing" ${CMAKE_COMMAND} --install ${BUILD} --prefix ${prefix})
foreach(way cmake pkgconfig)
  set(out ${BUILD}/package-consumer/${way})
  run("configuring (${way})" ${CMAKE_COMMAND} -S ${CONSUMER} -B ${out} -G ${GENERATOR}
      -DCMAKE_CXX_COMPILER=${COMPILER} -DCMAKE_PREFIX_PATH=${prefix} -DWAY=${way} -DINSTALLED=${prefix})
  run("building (${way})" ${CMAKE_COMMAND} --build ${out})
  run("running (${way})" ${out}/consumer)
endforeach()

run("doing what ${PAGE} says" ${PYTHON} ${CONSUMER}/plugin_page.py ${PAGE} ${prefix})

file(GLOB rules ${prefix}/share/meniscus/rules/*)
if(EXISTS ${prefix}/bin/meniscus AND NOT rules)
  message(FATAL_ERROR "the program is installed, its rules are not")
endif()

# What the system service needs, with the paths of this install.
foreach(file integrator.md CHANGELOG.md schemas/verdict.schema.json service/service.conf)
  file(GLOB there ${prefix}/share/doc/*/${file})
  if(NOT there)
    message(FATAL_ERROR "${file} is not installed with the documentation")
  endif()
endforeach()
file(STRINGS ${prefix}/lib/systemd/system/meniscus.service lines REGEX "^(ExecStart|Documentation)=")
foreach(line ${lines})
  if(line MATCHES "^(ExecStart=|Documentation=file://)(/[^ ]+)")
    if(NOT EXISTS ${CMAKE_MATCH_2})
      message(FATAL_ERROR "the unit names ${CMAKE_MATCH_2}, which is not there")
    endif()
  else()
    message(FATAL_ERROR "the unit has a line of another form: ${line}")
  endif()
endforeach()
list(LENGTH lines count)
if(NOT count EQUAL 2)
  message(FATAL_ERROR "the unit names no program or no documentation")
endif()
