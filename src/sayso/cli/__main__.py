from sayso.cli import main

main()
