p='/work/main/tests/support/accounting.py'
s=open(p).read()
if '"lettering"' not in s:
    s=s.replace('''        "left-out-with",
''','''        "left-out-with",
        "lettering",
''').replace('''        "tiny-loop",
''','''        "tiny-loop",
        "title-block",
''')
open(p,'w').write(s)
